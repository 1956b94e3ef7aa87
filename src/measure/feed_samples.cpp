#include "measure/feed_samples.h"

#include <cstdint>
#include <span>

namespace hearwood {

namespace {

template <typename T>
void feed(std::vector<SegmentAnalyser>& analysers, const void* samples, std::size_t frames,
          int channels, int from_channel, int to_channel) {
    const std::span<const T> block(static_cast<const T*>(samples),
                                   frames * static_cast<std::size_t>(channels));
    for (int channel = from_channel; channel < to_channel; ++channel) {
        SegmentAnalyser& analyser = analysers[channel - from_channel];
        if (channels == 1)
            analyser.add(block);
        else
            analyser.add_channel(block, channels, channel);
    }
}

}  // namespace

void feed_samples(SampleFormat format, std::vector<SegmentAnalyser>& analysers, const void* samples,
                  std::size_t frames, int channels, int from_channel, int to_channel) {
    switch (format) {
        case SampleFormat::int16:
            return feed<std::int16_t>(analysers, samples, frames, channels, from_channel,
                                      to_channel);
        case SampleFormat::int32:
            return feed<std::int32_t>(analysers, samples, frames, channels, from_channel,
                                      to_channel);
        case SampleFormat::float32:
            return feed<float>(analysers, samples, frames, channels, from_channel, to_channel);
        case SampleFormat::float64:
            return feed<double>(analysers, samples, frames, channels, from_channel, to_channel);
    }
}

bool is_floating(SampleFormat format) {
    return format == SampleFormat::float32 || format == SampleFormat::float64;
}

}  // namespace hearwood

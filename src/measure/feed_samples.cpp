#include "measure/feed_samples.h"

#include <algorithm>
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

int channels_at_once(const AudioInfo& info) {
    return info.seeks_cheaply ? std::min(info.channels, kChannelsAtOnce) : info.channels;
}

int code_bits(const AudioInfo& info) {
    const bool floating =
        info.format == SampleFormat::float32 || info.format == SampleFormat::float64;
    return floating ? 0 : info.bits;
}

void make_room(ReadBuffer& buffer, const AudioInfo& info) {
    const std::size_t bytes = static_cast<std::size_t>(kReadBlock) * info.frame_bytes();
    buffer.resize(std::max(buffer.size(), bytes / sizeof(std::max_align_t) + 1));
}

}  // namespace hearwood

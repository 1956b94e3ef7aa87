#include "activity/even_measurer.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "index/indices.h"
#include "spectrum/frequency_grid.h"

namespace hearwood {
namespace {

constexpr std::int64_t kBlock = 8192;  // samples, with their noise in the second-level cache

/// One channel of a block as floats in [-1, 1).
template <typename T>
void take_channel(const void* interleaved, int channels, int channel, float unit,
                  std::span<float> out) {
    const T* from = static_cast<const T*>(interleaved) + channel;
    for (std::size_t n = 0; n < out.size(); ++n)
        out[n] = static_cast<float>(from[n * static_cast<std::size_t>(channels)]) * unit;
}

void take_channel(SampleFormat format, const void* interleaved, int channels, int channel,
                  std::span<float> out) {
    switch (format) {
        case SampleFormat::int16:
            return take_channel<std::int16_t>(interleaved, channels, channel, 0x1p-15F, out);
        case SampleFormat::int32:
            return take_channel<std::int32_t>(interleaved, channels, channel, 0x1p-31F, out);
        case SampleFormat::float32:
            return take_channel<float>(interleaved, channels, channel, 1, out);
        case SampleFormat::float64:
            return take_channel<double>(interleaved, channels, channel, 1, out);
    }
}

/// 1 for the bins of choirs.
std::vector<std::uint8_t> left_out(const FrequencyGrid& grid, const EventBands& choirs) {
    std::vector<std::uint8_t> bins;
    if (choirs.none()) return bins;
    bins.resize(static_cast<std::size_t>(grid.bins()));
    for (int band = 0; band < kEventBands; ++band) {
        if (!choirs[static_cast<std::size_t>(band)]) continue;
        const double low = kFirstEventBandHz + band * kEventBandHz;
        const BinRange range = grid.bins_in(low, low + kEventBandHz);
        for (int k = range.first; k < range.last; ++k) bins[static_cast<std::size_t>(k)] = 1;
    }
    return bins;
}

}  // namespace

EvenMeasurer::EvenMeasurer(const MeasureSettings& settings, double sample_rate)
    : settings_(settings),
      grid_(sample_rate),
      // Noise as loud as the loudest site's background lies far above what single precision loses.
      analyser_(settings, sample_rate, {.single_floats = true}),
      samples_(kBlock) {}

/// Samples of the task's channel, counted from the start of its segment.
bool EvenMeasurer::read(AudioFile& file, const EvenTask& task, std::int64_t from,
                        std::span<float> samples) {
    const AudioInfo& info = file.info();
    make_room(block_, info);
    const auto at = static_cast<std::uint64_t>(task.first_sample + from);
    if (file.read(at, block_.data(), samples.size()) != samples.size()) return false;
    take_channel(info.format, block_.data(), info.channels, task.channel, samples);
    return true;
}

void EvenMeasurer::analyse(const Added& added, std::int64_t from, std::span<float> samples) {
    added.noise.add(added.name, from, added.factor, samples);
    analyser_.add(std::span<const float>(samples));
}

bool EvenMeasurer::feed(AudioFile& file, const EvenTask& task, const Added& added) {
    samples_.resize(kBlock);
    for (std::int64_t done = 0; done < task.samples;) {
        const auto count = static_cast<std::size_t>(std::min(kBlock, task.samples - done));
        const std::span<float> samples(samples_.data(), count);
        if (!read(file, task, done, samples)) return false;
        analyse(added, done, samples);
        done += static_cast<std::int64_t>(count);
    }
    return true;
}

/// Behind the ends of the recording the filter meets silence; within it, what was recorded there.
bool EvenMeasurer::feed_filtered(AudioFile& file, const EvenTask& task, const PathFilter& path,
                                 const Added& added) {
    const auto reach = static_cast<std::int64_t>(path.reach());
    const auto frames = static_cast<std::int64_t>(file.info().frames);
    samples_.assign(path.block(), 0);
    const std::size_t kept = 2 * path.reach();  // of a block, for the next
    const std::int64_t before = std::min(reach, task.first_sample);
    std::int64_t at = -before;                                    // of the next sample to read
    std::size_t have = static_cast<std::size_t>(reach - before);  // in samples_
    for (std::int64_t done = 0; done < task.samples;) {
        const std::int64_t there = std::min(task.samples + reach, frames - task.first_sample) - at;
        const auto count = static_cast<std::size_t>(
            std::clamp<std::int64_t>(there, 0, static_cast<std::int64_t>(path.block() - have)));
        if (count > 0 && !read(file, task, at, std::span(samples_).subspan(have, count)))
            return false;
        std::fill(samples_.begin() + static_cast<std::ptrdiff_t>(have + count), samples_.end(),
                  0.0F);
        at += static_cast<std::int64_t>(count);
        const std::span<const float> out = filterer_.apply(path, samples_);
        const auto given = static_cast<std::size_t>(
            std::min(static_cast<std::int64_t>(out.size()), task.samples - done));
        filtered_.assign(out.begin(), out.begin() + static_cast<std::ptrdiff_t>(given));
        analyse(added, done, filtered_);
        done += static_cast<std::int64_t>(given);
        std::copy(samples_.end() - static_cast<std::ptrdiff_t>(kept), samples_.end(),
                  samples_.begin());
        have = kept;
    }
    return true;
}

bool EvenMeasurer::measure(AudioFile& file, const std::string& path, const EvenTask& task,
                           const EvenBed& bed, double offset_db, EvenRow& row) {
    const std::uint64_t name = NoiseBed::number_of(path + "\n" + std::to_string(task.channel) +
                                                   "\n" + std::to_string(task.segment));
    const auto factor = static_cast<float>(std::pow(10, -offset_db / 20));
    analyser_.begin(0);
    const Added added{bed.noise, name, factor};
    const bool whole =
        bed.path ? feed_filtered(file, task, *bed.path, added) : feed(file, task, added);
    if (!whole) return false;
    row.channel = task.channel;
    row.segment = task.segment;
    row.terms = task.terms;
    row.values = values(bed.choirs);
    return true;
}

std::vector<double> EvenMeasurer::values(const EventBands& choirs) {
    const SegmentSummary& measured = analyser_.finish();
    if (measured.frames == 0 || !measured.finite)
        return std::vector<double>(kEvenIndices.size(), kMissing);
    SegmentSummary s = measured;
    s.left_out = left_out(FrequencyGrid(s.sample_rate, s.frame), choirs);
    return {
        indices::aci(s, settings_), indices::ndsi(s, settings_), indices::bi(s, settings_),
        indices::standout(s, settings_),
        events_outside(choirs, s.sounds, grid_, static_cast<double>(s.samples) / s.sample_rate)};
}

}  // namespace hearwood

#include "activity/even_measurer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <variant>

#include "base/missing.h"
#include "index/indices.h"
#include "measure/measured_rate.h"
#include "spectrum/frequency_grid.h"

namespace hearwood {
namespace {

constexpr std::int64_t kBlock = 32'768;  ///< samples read at a time
constexpr std::size_t kPiece = 4096;     ///< those that get their noise: the first-level cache

/// One channel of a block as floats in [-1, 1).
template <typename T>
void take_channel(const void* interleaved, int channels, int channel, float unit,
                  std::span<float> out) {
    const T* from = static_cast<const T*>(interleaved) + channel;
    float* to = out.data();
    const std::size_t count = out.size(), step = static_cast<std::size_t>(channels);
    // With a step known to be 1 the compiler lays samples side by side.
    if (step == 1)
        for (std::size_t n = 0; n < count; ++n) to[n] = static_cast<float>(from[n]) * unit;
    else
        for (std::size_t n = 0; n < count; ++n) to[n] = static_cast<float>(from[n * step]) * unit;
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

EvenBed make_even_bed(const Survey& survey, const EvenTerms& terms, const EvenTerms::Place& place) {
    const double rate = terms.sample_rate;
    const std::string seed =
        fmt::format("{}\n{}\n{}", survey.contrast.seed, survey.sites[place.site->site].name,
                    survey.windows[static_cast<std::size_t>(place.window->window)].name);
    const auto longest = std::llrint(survey.measure.segment_s * rate);
    EvenBed bed{NoiseBed(place.site->noise_db, rate, longest, seed), {}};
    if (place.site->path)
        bed.path.emplace([&](double hz) { return place.window->weakening_db(*place.site, hz); },
                         rate);
    return bed;
}

std::optional<OpenRecording> open_for_even(const std::filesystem::path& file, int decided_rate) {
    auto opened = open_audio(file);
    auto* audio = std::get_if<AudioFile>(&opened);
    if (!audio) return std::nullopt;
    OpenRecording recording(file, std::move(*audio));
    recording.measure_at(decided_rate);
    return recording;
}

EvenMeasurer::EvenMeasurer(const MeasureSettings& settings, double sample_rate)
    : grid_(sample_rate),
      // Noise as loud as the loudest site's background lies far above what single precision loses.
      analyser_(settings, sample_rate, {.single_floats = true}),
      samples_(kBlock) {}

/// Nothing when the segment cannot be read whole. One at a decided rate is brought to it here.
std::optional<EvenMeasurer::Source> EvenMeasurer::open(OpenRecording& recording,
                                                       const EvenTask& task) {
    const AudioInfo& info = recording.info();
    if (recording.measured_rate() == info.sample_rate)
        return Source{recording, task.channel, task.first_sample, task.samples,
                      static_cast<std::int64_t>(info.frames)};
    const auto channels = static_cast<std::size_t>(info.channels);
    const std::int64_t wanted = analyser_.segment_samples();
    resampled_.clear();
    Losses losses;
    ResampledReader reader(recording.measured_rate());
    const std::int64_t got = reader.read(
        recording, task.first_sample, task.samples, wanted,
        [](const void*, std::size_t) { return true; }, [](std::span<const double>) {},
        [&](std::span<const double> block) {
            for (auto at = static_cast<std::size_t>(task.channel); at < block.size();
                 at += channels)
                resampled_.push_back(static_cast<float>(block[at]));
        },
        losses);
    if (got != task.samples || std::ssize(resampled_) != wanted) return std::nullopt;
    return Source{recording, task.channel, 0, wanted, wanted};
}

/// Samples counted from the start of the segment.
bool EvenMeasurer::read(const Source& source, std::int64_t from, std::span<float> samples) {
    const AudioInfo& info = source.recording.info();
    if (source.recording.measured_rate() != info.sample_rate) {
        std::copy_n(resampled_.begin() + from, samples.size(), samples.begin());
        return true;
    }
    make_room(block_, info);
    Losses losses;
    if (source.recording.read(source.first + from, block_.data(), samples.size(), losses) !=
        samples.size())
        return false;
    take_channel(info.format, block_.data(), info.channels, source.channel, samples);
    return true;
}

void EvenMeasurer::analyse(const Added& added, std::int64_t from, std::span<float> samples) {
    for (std::size_t done = 0; done < samples.size(); done += kPiece) {
        const auto piece = samples.subspan(done, std::min(kPiece, samples.size() - done));
        added.noise.add(added.name, from + static_cast<std::int64_t>(done), added.factor, piece);
        analyser_.add(std::span<const float>(piece));
    }
}

bool EvenMeasurer::feed(const Source& source, const Added& added) {
    samples_.resize(kBlock);
    for (std::int64_t done = 0; done < source.count;) {
        const auto count = static_cast<std::size_t>(std::min(kBlock, source.count - done));
        const std::span<float> samples(samples_.data(), count);
        if (!read(source, done, samples)) return false;
        analyse(added, done, samples);
        done += static_cast<std::int64_t>(count);
    }
    return true;
}

/// Behind the ends of the recording, and of a segment that was brought to another rate, the filter
/// meets silence; else what was recorded there.
bool EvenMeasurer::feed_filtered(const Source& source, const PathFilter& path, const Added& added) {
    const auto reach = static_cast<std::int64_t>(path.reach());
    samples_.assign(path.block(), 0);
    const std::size_t kept = 2 * path.reach();  // of a block, for the next
    const std::int64_t before = std::min(reach, source.first);
    std::int64_t at = -before;                                    // of the next sample to read
    std::size_t have = static_cast<std::size_t>(reach - before);  // in samples_
    for (std::int64_t done = 0; done < source.count;) {
        const std::int64_t there =
            std::min(source.count + reach, source.frames - source.first) - at;
        const auto count = static_cast<std::size_t>(
            std::clamp<std::int64_t>(there, 0, static_cast<std::int64_t>(path.block() - have)));
        if (count > 0 && !read(source, at, std::span(samples_).subspan(have, count))) return false;
        std::fill(samples_.begin() + static_cast<std::ptrdiff_t>(have + count), samples_.end(),
                  0.0F);
        at += static_cast<std::int64_t>(count);
        const std::span<const float> out = filterer_.apply(path, samples_);
        const auto given = static_cast<std::size_t>(
            std::min(static_cast<std::int64_t>(out.size()), source.count - done));
        filtered_.assign(out.begin(), out.begin() + static_cast<std::ptrdiff_t>(given));
        analyse(added, done, filtered_);
        done += static_cast<std::int64_t>(given);
        std::copy(samples_.end() - static_cast<std::ptrdiff_t>(kept), samples_.end(),
                  samples_.begin());
        have = kept;
    }
    return true;
}

bool EvenMeasurer::hear(OpenRecording& recording, const std::string& path, const EvenTask& task,
                        const EvenBed& bed, double offset_db) {
    const std::uint64_t name = NoiseBed::number_of(path + "\n" + std::to_string(task.channel) +
                                                   "\n" + std::to_string(task.segment));
    const auto factor = static_cast<float>(std::pow(10, -offset_db / 20));
    const auto source = open(recording, task);
    if (!source) return false;
    analyser_.begin(0);
    const Added added{bed.noise, name, factor};
    if (bed.path ? !feed_filtered(*source, *bed.path, added) : !feed(*source, added)) return false;
    heard_ = &analyser_.finish();
    return true;
}

std::vector<double> EvenMeasurer::values(const EventBands& choirs,
                                         const MeasureSettings& settings) {
    if (heard_->frames == 0 || !heard_->finite)
        return std::vector<double>(kEvenIndices.size(), kMissing);
    SegmentSummary s = *heard_;
    s.left_out = left_out(FrequencyGrid(s.sample_rate, s.frame), choirs);
    return {
        indices::aci(s, settings), indices::ndsi(s, settings), indices::bi(s, settings),
        indices::standout(s, settings),
        events_outside(choirs, s.sounds, grid_, static_cast<double>(s.samples) / s.sample_rate)};
}

}  // namespace hearwood

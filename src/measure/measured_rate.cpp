#include "measure/measured_rate.h"

#include <soxr.h>

#include <algorithm>
#include <memory>
#include <numeric>

#include "base/error.h"

namespace hearwood {

namespace {

/// Longer than the filter's response at any ratio that recorders have.
constexpr std::int64_t kMarginFrames = 16'384;

struct SoxrDelete {
    void operator()(soxr* resampler) const { soxr_delete(resampler); }
};
using Resampler = std::unique_ptr<soxr, SoxrDelete>;

Resampler make_resampler(double from, double to, int channels) {
    const soxr_io_spec_t io = soxr_io_spec(SOXR_FLOAT64_I, SOXR_FLOAT64_I);
    const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_VHQ, 0);
    const soxr_runtime_spec_t runtime = soxr_runtime_spec(1);
    soxr_error_t error = nullptr;
    Resampler made(
        soxr_create(from, to, static_cast<unsigned>(channels), &error, &io, &quality, &runtime));
    if (error || !made)
        throw MachineError(std::string("samples could not be brought to another rate: ") +
                           (error ? error : "no memory"));
    return made;
}

template <class Sample>
void convert(const void* block, double scale, std::vector<double>& samples) {
    const auto* from = static_cast<const Sample*>(block);
    for (std::size_t i = 0; i < samples.size(); ++i)
        samples[i] = static_cast<double>(from[i]) * scale;
}

void to_double(SampleFormat format, const void* block, std::vector<double>& samples) {
    switch (format) {
        case SampleFormat::int16:
            return convert<std::int16_t>(block, 1.0 / 32'768, samples);
        case SampleFormat::int32:
            return convert<std::int32_t>(block, 1.0 / 2'147'483'648.0, samples);
        case SampleFormat::float32:
            return convert<float>(block, 1, samples);
        case SampleFormat::float64:
            return convert<double>(block, 1, samples);
    }
}

/// What comes out of the resampler, less the frames before the first wanted one and after the last.
class Wanted {
  public:
    Wanted(soxr* resampler, int channels, std::int64_t skip, std::int64_t most,
           std::vector<double>& buffer, const ResampledReader::Use& use)
        : resampler_(resampler),
          channels_(channels),
          skip_(skip),
          left_(most),
          buffer_(buffer),
          use_(use) {
        buffer_.resize(static_cast<std::size_t>(kReadBlock) * static_cast<std::size_t>(channels));
    }

    /// Null for the end of the input.
    void push(const double* samples, std::size_t frames) {
        while (true) {
            std::size_t taken = 0, given = 0;
            const soxr_error_t error =
                soxr_process(resampler_, samples, frames, samples ? &taken : nullptr,
                             buffer_.data(), static_cast<std::size_t>(kReadBlock), &given);
            if (error)
                throw MachineError(std::string("samples could not be brought to another rate: ") +
                                   error);
            hand_on(static_cast<std::int64_t>(given));
            if (samples) {
                samples += taken * static_cast<std::size_t>(channels_);
                frames -= taken;
            }
            if (given == 0 && (frames == 0 || taken == 0)) return;
        }
    }
    void at_most(std::int64_t frames) { left_ = std::min(left_, frames - given_); }

  private:
    void hand_on(std::int64_t frames) {
        const std::int64_t dropped = std::min(skip_, frames);
        skip_ -= dropped;
        const std::int64_t used = std::clamp<std::int64_t>(frames - dropped, 0, left_);
        left_ -= used;
        given_ += used;
        if (used > 0)
            use_(std::span(buffer_).subspan(static_cast<std::size_t>(dropped * channels_),
                                            static_cast<std::size_t>(used * channels_)));
    }

    soxr* resampler_;
    int channels_;
    std::int64_t skip_, left_, given_ = 0;
    std::vector<double>& buffer_;
    const ResampledReader::Use& use_;
};

}  // namespace

std::string results_hash(const std::string& settings_hash, int decided_rate) {
    return decided_rate > 0 && !settings_hash.empty()
               ? settings_hash + ":" + std::to_string(decided_rate)
               : settings_hash;
}

std::int64_t ResampledReader::read(OpenRecording& recording, std::int64_t first, std::int64_t count,
                                   std::int64_t most,
                                   const std::function<bool(const void*, std::size_t)>& raw,
                                   const Original& original, const Use& use, Losses& losses) {
    const AudioInfo& info = recording.info();
    const std::int64_t divisor = std::gcd(info.sample_rate, rate_);
    const std::int64_t from = info.sample_rate / divisor, to = rate_ / divisor;
    // Whole steps before the first frame, so that an output frame falls on it.
    const std::int64_t before = std::min((kMarginFrames / from + 1) * from, first / from * from);
    const std::int64_t end =
        std::min(static_cast<std::int64_t>(info.frames), first + count + kMarginFrames);
    make_room(buffer_, info);

    const Resampler resampler = make_resampler(info.sample_rate, rate_, info.channels);
    Wanted wanted(resampler.get(), info.channels, before / from * to, most, resampled_, use);
    std::int64_t at = first - before, read_of_segment = 0;
    while (at < end) {
        // A block lies wholly before, in, or behind the frames asked for.
        const std::int64_t edge = at < first ? first : at < first + count ? first + count : end;
        const auto asked = static_cast<std::size_t>(std::min(kReadBlock, edge - at));
        Losses outside;
        const bool inside = at >= first && at < first + count;
        const std::size_t got =
            recording.read(at, buffer_.data(), asked, inside ? losses : outside);
        samples_.resize(got * static_cast<std::size_t>(info.channels));
        to_double(info.format, buffer_.data(), samples_);
        if (inside) {
            if (!raw(buffer_.data(), got)) return 0;
            original(samples_);
            read_of_segment += static_cast<std::int64_t>(got);
        }
        if (got > 0) wanted.push(samples_.data(), got);
        at += static_cast<std::int64_t>(got);
        if (got < asked) break;
    }
    wanted.at_most(read_of_segment == count ? most : read_of_segment * to / from);
    wanted.push(nullptr, 0);
    return read_of_segment;
}

}  // namespace hearwood

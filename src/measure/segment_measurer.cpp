#include "measure/segment_measurer.h"

#include <algorithm>
#include <cmath>

#include "index/catalogue.h"
#include "index/index_values.h"
#include "index/kept_sounds.h"
#include "index/kept_spectrum.h"
#include "measure/hole_finder.h"
#include "screen/quantities.h"

namespace hearwood {

void Losses::add(const Losses& more) {
    spoilt_segments += more.spoilt_segments;
    unread_frames += more.unread_frames;
    if (failure.empty()) failure = more.failure;
    read_error = read_error || more.read_error;
}

std::size_t OpenRecording::read(std::int64_t from, void* interleaved, std::size_t count,
                                Losses& losses) {
    const std::size_t got =
        file_ ? file_->read(static_cast<std::uint64_t>(from), interleaved, count) : 0;
    if (got == count) return got;
    if (losses.failure.empty() && file_ && file_->partly_usable()) {
        const Damage& damage = file_->damages().back();
        losses.failure =
            std::string(name_of(damage.kind)) + " at byte " + std::to_string(damage.byte);
        losses.read_error = damage.kind == DamageKind::read_error;
    }
    // The object has given up on what follows; a new one has not. Where every jump means decoding
    // from the start there is no going on.
    if (!info_.seeks_cheaply) {
        file_.reset();
        return got;
    }
    auto again = open_audio(path_);
    if (auto* file = std::get_if<AudioFile>(&again))
        file_ = std::move(*file);
    else
        file_.reset();
    return got;
}

SegmentMeasurer::SegmentMeasurer(const MeasureSettings& settings) : settings_(settings) {
    const std::vector<Column> columns = index_columns(settings);
    const auto found = std::find_if(columns.begin(), columns.end(), [](const Column& column) {
        return column.name == "clipped_fraction";
    });
    clipped_column_ = static_cast<std::size_t>(found - columns.begin());
}

std::int64_t SegmentMeasurer::segment_samples(int sample_rate) const {
    return std::llrint(settings_.segment_s * sample_rate);
}

SegmentLayout SegmentMeasurer::layout(const OpenRecording& recording) const {
    const AudioInfo& info = recording.info();
    const std::int64_t rate = recording.measured_rate();
    // One frame of the transform, in samples of the file.
    const std::int64_t shortest =
        (settings_.frame * std::int64_t{info.sample_rate} + rate - 1) / rate;
    return {static_cast<std::int64_t>(info.frames), segment_samples(info.sample_rate), shortest};
}

void SegmentMeasurer::prepare(int sample_rate, int channels_at_once) {
    if (sample_rate != sample_rate_) analysers_.clear();
    sample_rate_ = sample_rate;
    while (static_cast<int>(analysers_.size()) < channels_at_once)
        analysers_.emplace_back(settings_, sample_rate);
}

std::int64_t SegmentMeasurer::read_segment(OpenRecording& recording, std::int64_t first,
                                           std::int64_t samples, int from_channel, int to_channel,
                                           Losses& losses) {
    const AudioInfo& info = recording.info();
    for (int channel = from_channel; channel < to_channel; ++channel)
        analysers_[channel - from_channel].begin(code_bits(info));
    std::optional<HoleFinder> holes;
    if (recording.may_have_holes()) holes.emplace(info);
    std::int64_t done = 0;
    while (done < samples) {
        const auto wanted = static_cast<std::size_t>(std::min(kReadBlock, samples - done));
        const std::size_t got = recording.read(first + done, buffer_.data(), wanted, losses);
        if (holes && holes->add(buffer_.data(), got)) {
            losses.failure = "segments with zeros in place of sound are left out";
            return 0;
        }
        feed_samples(info.format, analysers_, buffer_.data(), got, info.channels, from_channel,
                     to_channel);
        done += static_cast<std::int64_t>(got);
        if (got < wanted) break;
    }
    return done;
}

std::int64_t SegmentMeasurer::read_resampled(OpenRecording& recording, std::int64_t first,
                                             std::int64_t samples, int from_channel, int to_channel,
                                             Losses& losses) {
    const AudioInfo& info = recording.info();
    const int channels = to_channel - from_channel;
    for (int c = 0; c < channels; ++c) analysers_[c].begin(0);
    clipping_.assign(static_cast<std::size_t>(channels), {});
    const double level = clipping_level<double>(code_bits(info));
    std::vector<double> own;
    std::optional<HoleFinder> holes;
    if (recording.may_have_holes()) holes.emplace(info);
    const auto has_no_hole = [&](const void* block, std::size_t frames) {
        if (!holes || !holes->add(block, frames)) return true;
        losses.failure = "segments with zeros in place of sound are left out";
        return false;
    };
    // Whether a sample was cut off at full scale is seen in the file's own samples alone.
    const auto count_clipped = [&](std::span<const double> block) {
        own.resize(block.size() / static_cast<std::size_t>(info.channels));
        for (int c = 0; c < channels; ++c) {
            for (std::size_t i = 0; i < own.size(); ++i)
                own[i] = block[i * static_cast<std::size_t>(info.channels) +
                               static_cast<std::size_t>(from_channel + c)];
            clipping_[static_cast<std::size_t>(c)].add(std::span<const double>(own), level);
        }
    };
    const auto feed = [&](std::span<const double> block) {
        feed_samples(SampleFormat::float64, analysers_, block.data(),
                     block.size() / static_cast<std::size_t>(info.channels), info.channels,
                     from_channel, to_channel);
    };
    const int rate = recording.measured_rate();
    const std::int64_t most =
        std::min(samples * rate / info.sample_rate + (samples * rate % info.sample_rate > 0),
                 analysers_.front().segment_samples());
    resampled_.emplace(rate);
    return resampled_->read(recording, first, samples, most, has_no_hole, count_clipped, feed,
                            losses);
}

MeasuredSegment SegmentMeasurer::row(const SegmentSummary& summary) const {
    MeasuredSegment segment;
    segment.row.values = index_values(summary, settings_);
    const std::vector<double> quantities = quantity_values(summary);
    segment.row.values.insert(segment.row.values.end(), quantities.begin(), quantities.end());
    if (!summary.finite || summary.frames == 0) return segment;
    segment.spectra = encode(kept_spectrum(summary));
    segment.sounds = encode(summary.sounds);
    return segment;
}

std::int64_t SegmentMeasurer::measure(OpenRecording& recording, std::int64_t from, std::int64_t to,
                                      const std::function<bool()>& stop,
                                      const std::function<void(MeasuredSegment&&)>& use,
                                      Losses& losses) {
    const AudioInfo info = recording.info();
    const SegmentLayout segments = layout(recording);
    const int at_once = channels_at_once(info);
    const bool resampled = recording.measured_rate() != info.sample_rate;
    prepare(recording.measured_rate(), at_once);
    make_room(buffer_, info);

    for (std::int64_t segment = from; segment < to; ++segment) {
        if (stop()) return segment;
        const std::int64_t first = segments.first_sample(segment),
                           whole = segments.samples(segment);
        Losses here;
        for (int channel = 0; channel < info.channels; channel += at_once) {
            const int end = std::min(channel + at_once, info.channels);
            const std::int64_t samples =
                resampled ? read_resampled(recording, first, whole, channel, end, here)
                          : read_segment(recording, first, whole, channel, end, here);
            const std::int64_t measured = samples < segments.shortest ? 0 : samples;
            // The channels share their samples: what several of them lack is lost once.
            here.unread_frames = std::max(here.unread_frames, whole - measured);
            for (int c = channel; c < end; ++c) {
                const SegmentSummary& summary = analysers_[c - channel].finish();
                if (samples < segments.shortest) continue;
                MeasuredSegment result = row(summary);
                if (resampled)
                    result.row.values[clipped_column_] =
                        static_cast<double>(
                            clipping_[static_cast<std::size_t>(c - channel)].clipped()) /
                        static_cast<double>(samples);
                result.row.channel = c;
                result.row.segment = static_cast<int>(segment);
                result.row.first_sample = first;
                result.row.samples = samples;
                result.row.complete = samples == segments.segment_samples;
                if (!summary.finite) ++here.spoilt_segments;
                use(std::move(result));
            }
        }
        losses.add(here);
    }
    return to;
}

}  // namespace hearwood

// From the samples of an open recording to rows of numbers, segment by segment. One object per
// thread; it keeps its analysers and its buffer from recording to recording.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "audio/audio_file.h"
#include "index/engine/clipping.h"
#include "index/engine/segment_analyser.h"
#include "measure/feed_samples.h"
#include "measure/measured_rate.h"
#include "measure/open_recording.h"
#include "measure/segment_layout.h"
#include "store/store.h"
#include "survey/settings.h"

namespace hearwood {

class SegmentMeasurer {
  public:
    explicit SegmentMeasurer(const MeasureSettings& settings);

    /// S for recordings of this rate.
    std::int64_t segment_samples(int sample_rate) const;
    /// In samples of the file, at whatever rate it is measured.
    SegmentLayout layout(const OpenRecording& recording) const;

    /// Measures segments [from, to); rows come segment by segment, channel by channel. A segment of
    /// which less than one frame can be read, or in which there is a hole, gives no rows. Stops
    /// early, between segments, when stop() is true; returns the first segment that was not done.
    std::int64_t measure(OpenRecording& recording, std::int64_t from, std::int64_t to,
                         const std::function<bool()>& stop,
                         const std::function<void(MeasuredSegment&&)>& use, Losses& losses);

  private:
    void prepare(int sample_rate, int channels_at_once);
    std::int64_t read_segment(OpenRecording& recording, std::int64_t first, std::int64_t samples,
                              int from_channel, int to_channel, Losses& losses);
    std::int64_t read_resampled(OpenRecording& recording, std::int64_t first, std::int64_t samples,
                                int from_channel, int to_channel, Losses& losses);
    MeasuredSegment row(const SegmentSummary& summary) const;

    MeasureSettings settings_;
    int sample_rate_ = 0;
    std::vector<SegmentAnalyser> analysers_;  ///< one for each channel that is measured at once
    ReadBuffer buffer_;
    std::optional<ResampledReader> resampled_;
    std::vector<ClippingCounter>
        clipping_;                ///< of the file's own samples, where these are resampled
    std::size_t clipped_column_;  ///< of clipped_fraction in a row's values
};

}  // namespace hearwood

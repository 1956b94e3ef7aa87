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
#include "index/engine/segment_analyser.h"
#include "measure/feed_samples.h"
#include "measure/segment_layout.h"
#include "store/store.h"
#include "survey/settings.h"

namespace hearwood {

/// What was met on the way besides numbers.
struct Losses {
    std::int64_t spoilt_segments = 0;  ///< rows whose samples hold a NaN or an infinity
    std::int64_t unread_frames = 0;    ///< samples that some channel lacks, for it was not read
    std::string failure;               ///< the first such failure in words
    bool read_error = false;           ///< the disk failed, and may give next time what it did not
    void add(const Losses& more);
};

/// A recording on the disk that can be opened again after a failed read, so that what lies behind a
/// bad place is still measured and no segment's numbers depend on the segments before it.
class OpenRecording {
  public:
    /// `file` is what open_audio gave for `path`.
    OpenRecording(std::filesystem::path path, AudioFile file)
        : path_(std::move(path)), file_(std::move(file)), info_(file_->info()) {}

    const std::filesystem::path& path() const { return path_; }
    const AudioInfo& info() const { return info_; }
    const AudioFile& file() const { return *file_; }

    /// To be told of a copy that holds zeros where its card could not be read.
    void expect_holes() { holes_ = true; }
    bool may_have_holes() const { return holes_; }

    /// As AudioFile::read; a short count is noted in `losses`.
    std::size_t read(std::int64_t from, void* interleaved, std::size_t count, Losses& losses);

  private:
    std::filesystem::path path_;
    std::optional<AudioFile> file_;
    AudioInfo info_;
    bool holes_ = false;
};

class SegmentMeasurer {
  public:
    explicit SegmentMeasurer(const MeasureSettings& settings) : settings_(settings) {}

    /// S for recordings of this rate.
    std::int64_t segment_samples(int sample_rate);
    SegmentLayout layout(const AudioInfo& info);

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
    MeasuredSegment row(const SegmentSummary& summary) const;

    MeasureSettings settings_;
    int sample_rate_ = 0;
    std::vector<SegmentAnalyser> analysers_;  ///< one for each channel that is measured at once
    ReadBuffer buffer_;
};

}  // namespace hearwood

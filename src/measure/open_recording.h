// A recording while its samples are read: failures are noted and read around.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "audio/audio_file.h"

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

    /// To be measured at another rate than its own, by a decision; 0: at its own.
    void measure_at(int rate) { decided_rate_ = rate; }
    int measured_rate() const { return decided_rate_ > 0 ? decided_rate_ : info_.sample_rate; }

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
    int decided_rate_ = 0;
};

}  // namespace hearwood

// The work of one thread: a piece of a recording in, its rows out.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "measure/recording_facts.h"
#include "measure/segment_measurer.h"
#include "measure/survey_walk.h"

namespace hearwood {

/// A recording on its way through the pipeline. The thread that opens it fills in what it finds
/// before any piece goes on; afterwards only the writer touches it.
struct RecordingInWork {
    Task task;
    std::filesystem::path path;
    RecordingRow row;             ///< filled in by RecordingFacts::open
    std::vector<Damage> damages;  ///< seen when it was opened
    std::int64_t segments = 0;    ///< of the layout
    std::int64_t resume_at = 0;   ///< segments that are in the store already
    Losses losses;                ///< the writer's sum over the pieces
};

/// Some segments of a recording. A short recording is one piece that is not opened yet; a long one
/// was opened to cut it up.
struct Piece {
    std::shared_ptr<RecordingInWork> recording;
    bool opened = false;
    std::int64_t from = 0, to = 0;  ///< segments; of no meaning before it is opened
    bool first = true, last = true;
};

struct PieceDone {
    Piece piece;
    std::vector<MeasuredSegment> rows;
    Losses losses;
    std::int64_t done_to = 0;  ///< less than piece.to when it was interrupted
    std::string sha256;        ///< with the last piece, when it was asked for
};

class RecordingWorker {
  public:
    RecordingWorker(const MeasureSettings& settings, const RecordingFacts& facts, bool hash)
        : measurer_(settings), facts_(facts), hash_(hash) {}

    /// Opens the recording and fills in row, damages, segments, resume_at.
    void open(RecordingInWork& recording);
    PieceDone work(const Piece& piece);
    /// All of a recording, row by row, on this thread.
    void measure_whole(const std::filesystem::path& path, RecordingRow& row,
                       const std::function<void(MeasuredSegment&&)>& use);
    SegmentMeasurer& measurer() { return measurer_; }
    /// Of the recording opened last.
    bool seeks_cheaply() const { return file_ && file_->info().seeks_cheaply; }

  private:
    OpenRecording* opened(const RecordingInWork& recording);

    SegmentMeasurer measurer_;
    const RecordingFacts& facts_;
    bool hash_;
    std::optional<OpenRecording> file_;  ///< the one that was worked on last
};

}  // namespace hearwood

// The one place that writes results: takes finished pieces in order, keeps the store, the progress
// line and the summary up to date.
#pragma once

#include <chrono>
#include <mutex>

#include "base/progress.h"
#include "measure/measure.h"
#include "measure/recording_worker.h"

namespace hearwood {

class ResultsWriter {
  public:
    /// `bytes` is the size of all files that are to be measured: what the time left is reckoned
    /// from.
    ResultsWriter(Store& store, std::mutex& store_mutex, MeasureSummary& summary,
                  std::uint64_t bytes, bool quiet);

    /// REQUIRES: pieces of a recording come one after another, from the first to the last.
    void write(PieceDone&& done);
    /// Commits what is there, also of a recording that was interrupted.
    void finish();

  private:
    void begin_recording(RecordingInWork& recording, const PieceDone& done);
    void end_recording(RecordingInWork& recording, const PieceDone& done);
    void conclude(RecordingInWork& recording, const PieceDone& done);
    void show_progress(const PieceDone& done);
    void commit_when_due();
    void commit();

    Store& store_;
    std::mutex& store_mutex_;
    MeasureSummary& summary_;
    Progress progress_;
    std::uint64_t bytes_left_;
    double shown_s_ = 0;
    bool in_transaction_ = false;
    std::int64_t rows_since_commit_ = 0;
    std::chrono::steady_clock::time_point last_commit_;
    std::shared_ptr<RecordingInWork> unfinished_;  ///< its first pieces are in the store
};

}  // namespace hearwood

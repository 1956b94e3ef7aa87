// Three lines of work side by side: one thread reads the card and writes copies under temporary
// names; some wait for the disk, read back, compare and give names; some measure what has its name.
// The card is the slow part and never waits for the others longer than the disk makes it.
#pragma once

#include <atomic>
#include <exception>
#include <functional>
#include <mutex>
#include <string>
#include <vector>

#include "card/copy_record.h"
#include "card/file_copier.h"
#include "card/offload.h"
#include "card/work_queue.h"
#include "measure/recording_worker.h"

namespace hearwood {

class CopyPipeline {
  public:
    CopyPipeline(const Survey& survey, const OffloadOptions& options, CopyRecord& record,
                 OffloadResult& result)
        : survey_(survey), options_(options), record_(record), result_(result) {}

    /// Looks at one of the first recordings read, before any copy has its name; what it throws ends
    /// the run with nothing copied.
    std::function<void(const CopiedFile&)> probe;

    /// Copies, proves and records every file of the result, and measures if the options say so;
    /// fills in the files' outcomes. Stops at Ctrl-C and at the first failure.
    void run(FileCopier& copier);
    bool failed() const { return failed_; }
    /// What ended it; null when nothing did.
    std::exception_ptr failure() const { return failure_; }

  private:
    void copy_card(FileCopier& copier);
    void take(CopiedFile copied);
    void release_probes();
    void prove_copies();
    std::vector<CopiedFile> synced_batch();
    void prove(CopiedFile& copied, DiskReader& disk);
    bool reads_back(const CopiedFile& copied, FileOutcome& file, DiskReader& disk);
    bool names_it(CopiedFile& copied, FileOutcome& file);
    void measure_copies();
    void measure(const std::string& path, RecordingWorker& worker);
    void work(const std::function<void()>& task);

    // Copies that wait for their proof. Each holds an open file and no memory to speak of.
    static constexpr std::size_t kMostWaiting = 128;

    const Survey& survey_;
    const OffloadOptions& options_;
    CopyRecord& record_;
    OffloadResult& result_;   // of a file only the thread that has it in hand writes
    std::mutex batch_mutex_;  // one thread gathers and syncs while the others read back
    std::mutex mutex_;        // over result_.measured and failure_
    WorkQueue<CopiedFile> to_prove_{kMostWaiting};
    WorkQueue<std::string> to_measure_{static_cast<std::size_t>(-1)};  // paths in the store
    std::vector<CopiedFile> probes_;
    bool probing_ = true;
    std::atomic<bool> failed_{false};
    std::exception_ptr failure_;
};

}  // namespace hearwood

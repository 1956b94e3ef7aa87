// Records what is proved: in survey.db and in SHA256SUMS. Neither ever says more than what is on
// the disk.
#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <mutex>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "card/copy_target.h"
#include "measure/recording_facts.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// Safe to use from several threads; `mutex` also guards the store and the targets' checksums
/// elsewhere.
class CopyRecord {
  public:
    CopyRecord(const Survey& survey, const Deployment& deployment, Store& store,
               std::span<CopyTarget> targets, std::mutex& mutex);

    struct Copy {
        std::string card_path;  ///< raw bytes
        std::string copy;       ///< below the targets' folders
        std::string sha256;
        bool recording = true;
        bool proved = true;                     ///< false: salvaged
        std::string trouble;                    ///< of a salvaged copy
        std::vector<std::size_t> without = {};  ///< targets that have no such copy
    };
    /// After the copies have their names. Returns the recording's path in the store when it has yet
    /// to be measured; empty: nothing to measure.
    std::string add(const Copy& copy);
    /// The survey's copy turned out to be spoilt: its row no longer calls it proved.
    void take_back(const std::string& copy);

    const CopyTarget& target(std::size_t number) const { return targets_[number]; }

    /// The row of a copy, if the store has one.
    std::optional<RecordingRow> row_of(const std::string& copy);
    /// Another deployment's recording of the same content; nothing when there is none.
    std::optional<RecordingRow> same_content(const std::string& sha256);

    /// Runs what writes to the store in the transaction under way. False when survey.db cannot be
    /// written, see trouble().
    bool write(const std::function<void(Store&)>& use);
    /// The same for what no later run makes good: finish() tries it once more.
    void write_surely(std::function<void(Store&)> use);

    /// Makes all that was added last: folders, database, SHA256SUMS.
    void flush();
    /// The same at the end; rows that could not be written are tried once more.
    void finish();
    /// Why survey.db lacks rows; empty when it does not. Copies are proved all the same: another
    /// program may hold the database for hours.
    const std::string& trouble() const { return trouble_; }

  private:
    std::string stored_name(const std::string& copy) const;
    std::string put_row(const Copy& copy);
    bool write_locked(const std::function<void(Store&)>& use);
    void give_up(const MachineError& error);
    void commit_locked();
    void flush_locked();

    const Deployment& deployment_;
    Store& store_;
    std::span<CopyTarget> targets_;
    std::mutex& mutex_;
    RecordingFacts facts_;
    std::string settings_hash_;
    bool in_transaction_ = false;
    std::string trouble_;
    std::vector<Copy> uncommitted_;  // whose rows would be lost with the transaction
    std::vector<std::function<void(Store&)>> to_make_sure_;  // likewise
    std::set<std::filesystem::path> folders_;  // whose entries changed since the last flush
    std::chrono::steady_clock::time_point next_flush_;
};

}  // namespace hearwood

// What there is to do in a survey: the recordings on the disk held against the store, without
// opening any.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "measure/shares.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// A recording that has to be opened, and what for.
struct Task {
    RecordingRow row;  ///< as the store has it, with the file's present size and time; id 0: new
    enum class Kind {
        measure,  ///< new, changed, never finished, or of other settings
        restart,  ///< measured already; only its start is read anew, by another pattern
        hash,     ///< measured already; only its SHA-256 is missing
    } kind = Kind::measure;
    std::int64_t rows_there = 0;  ///< of segments, from a run that was interrupted
    bool changed = false;         ///< the file is not the one that was copied and hashed
};

/// What a look at one deployment's folder found.
struct DeploymentLook {
    std::vector<Task> tasks;            ///< by path
    std::vector<RecordingRow> updates;  ///< rows to put, for which no file has to be opened
    /// Recordings that lie under another path than the store has: to be moved there first.
    std::vector<std::pair<std::int64_t, std::string>> moves;  ///< id, new path
    std::int64_t found = 0, unchanged = 0, gone = 0;
    std::uint64_t bytes = 0;     ///< of the tasks' files
    std::string missing_folder;  ///< why the folder cannot be listed; empty: it could
};

/// Walks the deployments in the order of the sheet; the shares of all parts are dealt on the way.
class SurveyWalk {
  public:
    struct Options {
        std::string settings_hash;
        bool hash = false;
        int part = 0, parts = 1;
        const Store* elsewhere = nullptr;  ///< what is finished there is not to be done here
    };
    SurveyWalk(const Survey& survey, const Options& options);

    /// Looks at the next deployment; false when there is none. Reads the store.
    bool next(const Store& store, DeploymentLook& look);
    std::size_t deployment() const { return next_ - 1; }

  private:
    std::string wanted_settings() const;  ///< of the deployment that is looked at
    bool done_elsewhere(const std::string& path, std::uint64_t size, std::int64_t mtime_ns) const;
    std::optional<RecordingRow> moved_here(const Store& store, const std::string& path,
                                           std::uint64_t size);
    void look_at_file(const Store& store, const std::string& path, std::uint64_t size,
                      std::int64_t mtime_ns, DeploymentLook& look);

    const Survey& survey_;
    Options options_;
    Shares shares_;
    std::size_t next_ = 0;
    /// Results of files that are not where they were, by size; gathered when a new file is met.
    std::optional<std::multimap<std::int64_t, RecordingRow>> lost_;
};

/// The path of a file of the survey as the store has it, and back to the disk.
std::string stored_path(const std::string& relative_bytes);
std::filesystem::path disk_path(const Survey& survey, const RecordingRow& row);

}  // namespace hearwood

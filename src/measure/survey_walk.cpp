#include "measure/survey_walk.h"

#include <algorithm>
#include <set>

#include "audio/inventory.h"
#include "base/error.h"
#include "base/sha256.h"
#include "base/text.h"
#include "measure/measured_rate.h"

namespace hearwood {

namespace {

std::string with_slash(std::string folder) {
    while (!folder.empty() && folder.back() == '/') folder.pop_back();
    return folder.empty() || folder == "." ? "" : folder + "/";
}

/// Something that looks like a recording and can never be one: a row without numbers.
void note_left_out(const Store& store, const Deployment& deployment, const std::string& path,
                   const std::string& reason, const std::string& settings_hash,
                   DeploymentLook& look) {
    RecordingRow row;
    if (auto known = store.find(path)) row = std::move(*known);
    if (row.id != 0 && row.state == RecordingState::unreadable && row.reason == reason &&
        !row.gone && row.deployment == deployment.name)
        return;
    row.deployment = deployment.name;
    row.path = path;
    row.state = RecordingState::unreadable;
    row.reason = reason;
    row.settings = settings_hash;
    row.gone = false;
    look.updates.push_back(std::move(row));
}

}  // namespace

std::string stored_path(const std::string& relative_bytes) {
    return name_to_utf8(relative_bytes);
}

std::filesystem::path disk_path(const Survey& survey, const RecordingRow& row) {
    return survey.folder / name_from_utf8(row.path);
}

SurveyWalk::SurveyWalk(const Survey& survey, const Options& options)
    : survey_(survey), options_(options), shares_(options.parts) {}

/// The results of a file of this content that lay elsewhere. Only files of a size that is missed
/// somewhere are hashed.
std::optional<RecordingRow> SurveyWalk::moved_here(const Store& store, const std::string& path,
                                                   std::uint64_t size) {
    if (options_.parts > 1) return {};
    if (!lost_) {
        lost_.emplace();
        store.for_each_recording([&](const RecordingRow& row) {
            std::error_code ignored;
            const bool has_results =
                row.state == RecordingState::measured || row.state == RecordingState::damaged;
            if (has_results && !row.sha256.empty() &&
                !std::filesystem::exists(disk_path(survey_, row), ignored))
                lost_->emplace(row.size, row);
        });
    }
    const auto [first, last] = lost_->equal_range(static_cast<std::int64_t>(size));
    if (first == last) return {};
    std::string sha256;
    try {
        sha256 = sha256_of_file(survey_.folder / name_from_utf8(path));
    } catch (const MachineError&) {
        return {};  // measuring tells of a file that cannot be read
    }
    const auto same =
        std::find_if(first, last, [&](const auto& lost) { return lost.second.sha256 == sha256; });
    if (same == last) return {};
    RecordingRow row = std::move(same->second);
    lost_->erase(same);
    return row;
}

void SurveyWalk::look_at_file(const Store& store, const std::string& path, std::uint64_t size,
                              std::int64_t mtime_ns, DeploymentLook& look) {
    const std::string& deployment = survey_.deployments[this->deployment()].name;
    const std::string wanted = wanted_settings();
    Task task;
    if (auto known = store.find(path)) task.row = std::move(*known);
    RecordingRow& row = task.row;
    if (row.id == 0)
        if (auto moved = moved_here(store, path, size)) {
            look.moves.emplace_back(moved->id, path);
            row = std::move(*moved);
            row.path = path;
            row.mtime_ns = mtime_ns;
            row.gone = true;  // at its old place; below it is found again
        }
    const bool same_file =
        row.id != 0 && row.size == static_cast<std::int64_t>(size) && row.mtime_ns == mtime_ns;
    const bool done = same_file && row.settings == wanted && row.state != RecordingState::pending;
    const bool same_pattern = row.start_pattern == survey_.start_time_pattern;
    const bool has_results =
        row.state == RecordingState::measured || row.state == RecordingState::damaged;
    const bool wants_hash =
        options_.hash && row.sha256.empty() && row.state != RecordingState::unreadable;
    const bool moved = row.deployment != deployment || row.gone;
    row.deployment = deployment;
    row.gone = false;
    if ((done && same_pattern && !wants_hash) || done_elsewhere(path, size, mtime_ns)) {
        ++look.unchanged;
        if (done && moved) look.updates.push_back(std::move(row));
        return;
    }
    if (done && same_pattern)
        task.kind = Task::Kind::hash;
    else if (done && has_results)
        task.kind = Task::Kind::restart;
    else if (same_file && row.settings == wanted)
        task.rows_there = store.count_segments_of(row.id);
    task.changed = row.id != 0 && !same_file && !row.sha256.empty();
    if (!same_file) {
        // Nothing that was measured of the file before this change counts.
        row.settings.clear();
        row.state = RecordingState::pending;
    }
    row.path = path;
    row.size = static_cast<std::int64_t>(size);
    row.mtime_ns = mtime_ns;
    look.bytes += size;
    look.tasks.push_back(std::move(task));
}

std::string SurveyWalk::wanted_settings() const {
    return results_hash(options_.settings_hash, decided_rate_of(survey_, deployment()));
}

bool SurveyWalk::done_elsewhere(const std::string& path, std::uint64_t size,
                                std::int64_t mtime_ns) const {
    if (!options_.elsewhere) return false;
    const auto row = options_.elsewhere->find(path);
    return row && row->size == static_cast<std::int64_t>(size) && row->mtime_ns == mtime_ns &&
           row->settings == wanted_settings() && row->state != RecordingState::pending &&
           row->start_pattern == survey_.start_time_pattern;
}

bool SurveyWalk::next(const Store& store, DeploymentLook& look) {
    look = DeploymentLook{};
    if (next_ == survey_.deployments.size()) return false;
    const Deployment& deployment = survey_.deployments[next_++];
    const std::string folder = with_slash(deployment.folder);

    Inventory inventory;
    try {
        inventory = list_recordings(survey_.folder / deployment.folder);
    } catch (const InputError& error) {
        look.missing_folder = error.what();
    }
    std::vector<std::string> present;
    for (const FoundFile& file : inventory.recordings) {
        const std::string path = folder + file.path;
        if (shares_.deal(file.size) != options_.part) continue;
        ++look.found;
        present.push_back(stored_path(path));
        look_at_file(store, present.back(), file.size, file.modified_ns, look);
    }
    // What cannot be measured is told once: by the first part.
    if (options_.part == 0) {
        for (const LeftOut& left_out : inventory.left_out) {
            if (!left_out.matters) continue;
            present.push_back(stored_path(folder + left_out.path));
            ++look.found;
            note_left_out(store, deployment, present.back(), left_out.reason, wanted_settings(),
                          look);
        }
    }
    // A folder that is not there (a disk that is not plugged in, say) tells of no single file.
    if (options_.parts > 1 || !look.missing_folder.empty()) return true;
    std::sort(present.begin(), present.end());
    store.for_each_recording_of(deployment.name, [&](const RecordingRow& row) {
        const bool moved = std::any_of(look.moves.begin(), look.moves.end(),
                                       [&](const auto& move) { return move.first == row.id; });
        if (moved || std::binary_search(present.begin(), present.end(), row.path)) return;
        ++look.gone;
        if (row.gone) return;
        look.updates.push_back(row);
        look.updates.back().gone = true;
    });
    return true;
}

}  // namespace hearwood

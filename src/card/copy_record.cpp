#include "card/copy_record.h"

#include <algorithm>
#include <utility>

#include "base/file.h"
#include "base/text.h"
#include "measure/measure.h"
#include "measure/measured_rate.h"
#include "measure/survey_walk.h"

namespace hearwood {
namespace {

// What a killed run has to prove anew at most; each flush waits for the disk.
constexpr std::chrono::seconds kFlushEvery{3};

/// What is damaged as far as can be told without reading all of it.
void note_damages(const OpenRecording& recording, RecordingRow& row) {
    std::vector<Damage> damages = recording.file().damages();
    const bool compressed =
        recording.info().container != "WAV" && recording.info().container != "RF64";
    if (compressed) {
        auto again = open_audio(recording.path());
        if (auto* file = std::get_if<AudioFile>(&again)) {
            file->check_end();
            damages = file->damages();
        }
    }
    row.lost_s = 0;
    std::vector<std::string> texts;
    for (const Damage& damage : damages) {
        row.lost_s += damage.seconds_lost;
        texts.push_back(describe(damage));
    }
    if (row.state == RecordingState::pending) row.reason = join(texts, "; ");
}

}  // namespace

CopyRecord::CopyRecord(const Survey& survey, const Deployment& deployment, Store& store,
                       std::span<CopyTarget> targets, std::mutex& mutex)
    : deployment_(deployment),
      store_(store),
      targets_(targets),
      mutex_(mutex),
      // No settings: rows of copies are not measured yet.
      facts_(survey, ""),
      settings_hash_(measuring_settings(survey.measure).hash),
      next_flush_(std::chrono::steady_clock::now() + kFlushEvery) {}

std::string CopyRecord::stored_name(const std::string& copy) const {
    return stored_path(
        (std::filesystem::path(deployment_.folder) / copy).lexically_normal().native());
}

std::optional<RecordingRow> CopyRecord::row_of(const std::string& copy) {
    const std::scoped_lock lock(mutex_);
    return store_.find(stored_name(copy));
}

std::optional<RecordingRow> CopyRecord::same_content(const std::string& sha256) {
    const std::scoped_lock lock(mutex_);
    auto row = store_.find_sha256(sha256);
    if (row && row->deployment == deployment_.name) row.reset();
    return row;
}

/// Makes the row of a recording and writes it.
std::string CopyRecord::put_row(const Copy& copy) {
    RecordingRow row;
    const auto before = row_of(copy.copy);
    const auto present = targets_[0].look(copy.copy);
    if (before) row = *before;
    row.deployment = deployment_.name;
    row.path = stored_name(copy.copy);
    const bool changed = !before || before->state == RecordingState::unreadable ||
                         before->sha256 != copy.sha256 || !present ||
                         before->size != static_cast<std::int64_t>(present->size) ||
                         before->mtime_ns != present->modified_ns;
    if (present) {
        row.size = static_cast<std::int64_t>(present->size);
        row.mtime_ns = present->modified_ns;
    }
    row.sha256 = copy.sha256;
    row.proved = copy.proved;
    row.card_path = name_to_utf8(copy.card_path);
    row.gone = false;
    if (changed) {
        const auto path = targets_[0].folder() / copy.copy;
        if (const auto opened = facts_.open(path, row)) note_damages(*opened, row);
        if (!copy.trouble.empty()) row.reason += (row.reason.empty() ? "" : "; ") + copy.trouble;
    }
    const bool to_measure =
        row.state == RecordingState::pending ||
        row.settings != results_hash(settings_hash_, facts_.decided_rate(row.deployment));
    const std::scoped_lock lock(mutex_);
    const bool written = write_locked([&](Store& store) {
        const std::int64_t id = store.put(row);
        if (changed) store.delete_results(id);
    });
    return written && to_measure ? row.path : std::string();
}

std::string CopyRecord::add(const Copy& copy) {
    const auto lacks = [&copy](std::size_t target) {
        return std::find(copy.without.begin(), copy.without.end(), target) != copy.without.end();
    };
    {
        const std::scoped_lock lock(mutex_);
        for (std::size_t t = 0; t < targets_.size(); ++t) {
            if (lacks(t)) continue;
            targets_[t].checksums().set(copy.copy, copy.sha256);
            folders_.insert((targets_[t].folder() / copy.copy).parent_path());
        }
        if (copy.recording && !lacks(0)) uncommitted_.push_back(copy);
    }
    std::string to_measure;
    if (copy.recording && !lacks(0)) to_measure = put_row(copy);
    const std::scoped_lock lock(mutex_);
    if (std::chrono::steady_clock::now() >= next_flush_) flush_locked();
    return to_measure;
}

void CopyRecord::take_back(const std::string& copy) {
    write_surely([name = stored_name(copy)](Store& store) {
        auto row = store.find(name);
        if (!row) return;
        // Without its sum it does not pass for a salvaged copy, which is replaced unasked.
        row->proved = false;
        row->sha256.clear();
        store.put(*row);
    });
}

void CopyRecord::write_surely(std::function<void(Store&)> use) {
    const std::scoped_lock lock(mutex_);
    write_locked(use);
    to_make_sure_.push_back(std::move(use));
}

bool CopyRecord::write(const std::function<void(Store&)>& use) {
    const std::scoped_lock lock(mutex_);
    const bool written = write_locked(use);
    if (std::chrono::steady_clock::now() >= next_flush_) flush_locked();
    return written;
}

bool CopyRecord::write_locked(const std::function<void(Store&)>& use) {
    if (!trouble_.empty()) return false;
    try {
        if (!in_transaction_) store_.begin();
        in_transaction_ = true;
        use(store_);
        return true;
    } catch (const MachineError& error) {
        give_up(error);
        return false;
    }
}

void CopyRecord::give_up(const MachineError& error) {
    trouble_ = error.what();
    if (std::exchange(in_transaction_, false)) store_.roll_back();
}

void CopyRecord::commit_locked() {
    if (!in_transaction_) return;
    try {
        store_.commit();
        store_.make_durable();
        in_transaction_ = false;
        uncommitted_.clear();
        to_make_sure_.clear();
    } catch (const MachineError& error) {
        give_up(error);
    }
}

void CopyRecord::flush() {
    const std::scoped_lock lock(mutex_);
    flush_locked();
}

/// Names first, then what speaks of them.
void CopyRecord::flush_locked() {
    for (const auto& folder : folders_) sync_folder(folder);
    const bool new_names = !folders_.empty();
    folders_.clear();
    commit_locked();
    if (new_names)
        for (const CopyTarget& target : targets_) target.write_checksums();
    next_flush_ = std::chrono::steady_clock::now() + kFlushEvery;
}

void CopyRecord::finish() {
    flush();
    if (trouble_.empty()) return;
    const std::vector<Copy> again = std::move(uncommitted_);
    uncommitted_.clear();
    trouble_.clear();
    const auto uses = std::move(to_make_sure_);
    to_make_sure_.clear();
    for (const Copy& copy : again) put_row(copy);
    for (const auto& use : uses) write_surely(use);
    flush();
}

}  // namespace hearwood

#include "card/offload.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <map>
#include <optional>

#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/log.h"
#include "base/progress.h"
#include "base/text.h"
#include "card/card_check.h"
#include "card/offload_note.h"
#include "card/offload_run.h"
#include "card/restore.h"
#include "measure/measure.h"
#include "measure/recording_worker.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// Rows can be written later; a card waits for nobody.
constexpr std::chrono::seconds kPatience{3};

/// A copy in which zeros stand for what the card did not give: a better reading replaces it, unless
/// somebody has worked on it since.
bool is_salvaged(const std::optional<RecordingRow>& row,
                 const std::optional<CopyTarget::Present>& present) {
    return row && row->salvaged() &&
           (!present || (row->size == static_cast<std::int64_t>(present->size) &&
                         row->mtime_ns == present->modified_ns));
}

}  // namespace

void Offload::name_targets() {
    targets_.emplace_back(survey_.folder, deployment_.folder);
    if (options_.second) targets_.emplace_back(*options_.second, deployment_.folder);
    result_.deployment = deployment_.name;
    result_.site = survey_.sites[deployment_.site].name;
    result_.folder = deployment_.folder;
    result_.dry_run = options_.dry_run;
    result_.one_copy = options_.one_copy;
    result_.read_once = options_.read_once;
    for (const CopyTarget& target : targets_)
        result_.places.push_back({target.folder().native(), target.disk()});
}

void Offload::list_card() {
    Inventory inventory = list_recordings(options_.card, DotNames::tell);
    const auto take_files = [this](const std::vector<FoundFile>& files, bool recording) {
        for (const FoundFile& file : files) {
            FileOutcome outcome;
            outcome.path = file.path;
            outcome.size = file.size;
            outcome.modified_ns = file.modified_ns;
            outcome.recording = recording;
            result_.files.push_back(std::move(outcome));
            card_paths_.insert(file.path);
        }
    };
    take_files(inventory.recordings, true);
    take_files(inventory.others, false);
    result_.left_out = std::move(inventory.left_out);
    if (inventory.recordings.empty())
        throw InputError(printable(options_.card.native()) + ": no recordings in it",
                         "is the card mounted, and is this its folder?");
}

/// Who gives one folder of a card may wipe all of it. Of a disk that cannot be taken out nobody
/// thinks as of a card.
void Offload::look_around_card() {
    const fs::path card = fs::weakly_canonical(options_.card), whole = mount_point_of(card);
    if (card == whole || !disk_of(card).portable) return;
    const std::string inside = card.lexically_relative(whole).native() + "/";
    try {
        for (const FoundFile& file : list_recordings(whole).recordings)
            if (!file.path.starts_with(inside))
                result_.outside.push_back((whole / file.path).native());
    } catch (const MachineError& error) {
        result_.outside.push_back(error.what());
    }
}

/// Results of other settings must not stand beside those that are to come; and verify is to know
/// which code measured.
void Offload::take_settings() {
    const StoredSettings settings = measuring_settings(survey_.measure);
    const auto before = store_.settings();
    const bool same = before && before->hash == settings.hash;
    if (same && store_.note("cpu_path") == cpu_path()) return;
    if (before && !same)
        log_line(fmt::format(
            "measured with other settings: {}; those results are dropped, measure makes "
            "them anew",
            printable(settings_difference(*before, settings))));
    store_.begin();
    if (!same) store_.replace_settings(settings);
    store_.set_note("cpu_path", cpu_path());
    store_.commit();
}

void Offload::copy(FileCopier& copier, CopyRecord& record, CopyPipeline& pipeline) {
    if (options_.measure) take_settings();
    for (CopyTarget& target : targets_) {
        target.prepare();
        for (const std::string& trouble : target.checksums().troubles())
            result_.notes.push_back(printable((target.folder() / Checksums::kFileName).native()) +
                                    ": " + trouble + "; it is written anew");
    }
    look_at_places();
    withdraw_verdict();
    std::uint64_t bytes = 0, read = 0;
    for (const FileOutcome& file : result_.files) bytes += file.size;
    Progress progress("offloading", "MB", bytes / 1'000'000, options_.quiet, "MB a second");
    copier.progress = [&](std::uint64_t count) {
        progress.add((read + count) / 1'000'000 - read / 1'000'000);
        read += count;
    };
    pipeline.run(copier);
    progress.finish();
    if (options_.second) note_second(record);
    end(record, pipeline);
    if (options_.second && result_.stopped.empty()) take_sheets_along();
}

/// As they are now that the folders are made.
void Offload::look_at_places() {
    const Disk card = disk_of(options_.card);
    for (std::size_t t = 0; t < targets_.size(); ++t) {
        result_.places[t].disk = targets_[t].disk();
        result_.places[t].on_card =
            card.portable && (share_a_file_system(options_.card, targets_[t].folder()) ||
                              lies_on_device_of(targets_[t].disk(), card));
    }
}

/// If this run is killed, no "may be wiped" of an earlier one stands there.
void Offload::withdraw_verdict() {
    const fs::path report = targets_[0].folder() / kOffloadReport;
    std::error_code error;
    if (!fs::exists(report, error)) return;
    earlier_verdict_ = read_whole_file(report, kMostReport);
    write_whole_file(report, unfinished_report(began_));
}

/// So that whoever has a voice silenced can be told where else it is.
void Offload::note_second(CopyRecord& record) {
    record.write_surely([this](Store& store) {
        const std::string root = name_to_utf8(targets_[1].root().native());
        std::string known = store.note(kSecondCopiesNote);
        for (const std::string& line : split(known, '\n'))
            if (line == root) return;
        known += (known.empty() ? "" : "\n") + root;
        store.set_note(kSecondCopiesNote, known);
    });
}

/// The second disk is then a survey of its own.
void Offload::take_sheets_along() {
    try {
        for (const std::string& name : keep_sheets(survey_.folder, targets_[1].root()))
            result_.notes.push_back(printable((targets_[1].root() / name).native()) +
                                    ": was there or was changed there, and is not replaced by the "
                                    "survey's own");
    } catch (const MachineError& error) {
        result_.stopped = error.what();
    }
}

/// Keeps what is done, whatever ended the copying.
void Offload::end(CopyRecord& record, const CopyPipeline& pipeline) {
    result_.interrupted = interrupted();
    try {
        record.finish();
        store_.settle();
        for (CopyTarget& target : targets_) target.finish();
        if (pipeline.failure()) std::rethrow_exception(pipeline.failure());
    } catch (const MachineError& error) {
        result_.stopped = error.what();
    } catch (const InputError&) {  // the wrong card: nothing was done
        if (earlier_verdict_)
            write_whole_file(targets_[0].folder() / kOffloadReport, *earlier_verdict_);
        throw;
    }
    tell_trouble(record);
}

void Offload::tell_trouble(const CopyRecord& record) {
    if (record.trouble().empty() || result_.rows_missing) return;
    result_.rows_missing = true;
    result_.notes.push_back(
        "survey.db lacks recordings of this card, or the latest about them; what is said here of "
        "the copies holds all the same: " +
        record.trouble());
}

CardRecording Offload::seen(const FileOutcome& file, const RecordingRow& row,
                            const RecorderClock& clock) const {
    CardRecording recording;
    recording.path = file.path;
    recording.copy = targets_[0].folder() / file.copy;
    recording.size = file.size;
    recording.sha256 = row.sha256;
    if (row.start) {
        std::optional<std::chrono::seconds> offset;
        if (row.start_offset_s) offset = std::chrono::seconds(*row.start_offset_s);
        recording.start = clock.read(*row.start, offset).instant;
    }
    if (row.sample_rate > 0) recording.seconds = static_cast<double>(row.frames) / row.sample_rate;
    recording.sample_rate = row.sample_rate;
    recording.channels = row.channels;
    recording.bits = row.bits;
    recording.serial = row.serial;
    // What a salvaged copy lacks stands among what is not proved.
    if (row.state != RecordingState::no_start_time && file.proved()) recording.damage = row.reason;
    return recording;
}

void Offload::find_in_copies() {
    std::map<std::string, const FileOutcome*> by_path;
    for (const FileOutcome& file : result_.files)
        if (file.recording && (file.proved() || file.proof == FileOutcome::Proof::salvaged))
            by_path[stored_path(
                (fs::path(deployment_.folder) / file.copy).lexically_normal().native())] = &file;
    const RecorderClock clock(survey_, deployment_);
    std::vector<CardRecording> recordings;
    store_.for_each_recording_of(deployment_.name, [&](const RecordingRow& row) {
        const auto at = by_path.find(row.path);
        if (at != by_path.end()) recordings.push_back(seen(*at->second, row, clock));
    });
    result_.findings = find_in_card(recordings, survey_, deployment_);
}

OffloadResult Offload::run() {
    name_targets();
    check_places(options_.card, targets_);
    list_card();
    look_around_card();
    CardCheck check(survey_, store_, deployment_, options_, result_);
    check.check_names();

    CopyRecord record(survey_, deployment_, store_, targets_, mutex_);
    CopyPipeline pipeline(survey_, options_, record, result_);
    pipeline.probe = [&](const CopiedFile& copied) {
        check.check_content(copied, record.same_content(copied.sha256));
    };
    const ForgottenContent forgotten(survey_.folder);
    CardReader reader(options_.card);
    reader.stop = [&pipeline] { return interrupted() || pipeline.failed(); };
    FileCopier copier(
        reader, targets_, card_paths_, mutex_,
        [&](const std::string& copy) {
            return is_salvaged(record.row_of(copy), targets_[0].look(copy));
        },
        forgotten);
    check_space(targets_, copier, result_);
    if (options_.dry_run) return std::move(result_);
    store_.wait_at_most(kPatience);
    copy(copier, record, pipeline);
    judge(record);
    return std::move(result_);
}

OffloadResult offload(const Survey& survey, Store& store, const OffloadOptions& options) {
    return Offload(survey, store, options).run();
}

}  // namespace hearwood

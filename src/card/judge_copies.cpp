// The end of an offload: all copies are read back, the card is listed again, and what the verdict
// says follows from both.
#include <algorithm>
#include <map>
#include <memory>
#include <set>

#include "audio/inventory.h"
#include "base/error.h"
#include "base/interrupt.h"
#include "base/text.h"
#include "card/hoped_file.h"
#include "card/offload_note.h"
#include "card/offload_run.h"
#include "card/repair.h"
#include "survey/zone.h"

namespace hearwood {

namespace fs = std::filesystem;

/// What is said of copies rests on what is read here.
void Offload::close(CopyRecord& record) {
    if (result_.stopped.empty() && !result_.interrupted) read_all_back(record);
    if (result_.stopped.empty() && !result_.interrupted) list_again();
    result_.closed = result_.stopped.empty() && !result_.interrupted;
    forget_presumed();
}

/// What was only presumed is not proved in this run.
void Offload::forget_presumed() {
    for (FileOutcome& file : result_.files)
        if ((file.proof == FileOutcome::Proof::proved_before ||
             file.proof == FileOutcome::Proof::known_content) &&
            file.read_back < targets_.size())
            file.proof = FileOutcome::Proof::pending;
}

void Offload::read_all_back(CopyRecord& record) {
    auto pass = std::make_unique<ClosingPass>(options_.card, targets_, result_, options_.quiet);
    pass->run(!options_.read_once);
    const std::vector<FickleFile> fickle = pass->fickle();
    if (options_.repair && !pass->spoilt().empty() && pass->stopped().empty() &&
        !pass->interrupted()) {
        fix(pass->spoilt(), record);
        // Since then was written: what is said rests on a pass after it.
        pass = std::make_unique<ClosingPass>(options_.card, targets_, result_, options_.quiet);
        pass->run(false);
    }
    result_.interrupted = pass->interrupted();
    result_.stopped = pass->stopped();
    for (std::size_t t = 0; t < targets_.size(); ++t)
        result_.places[t].past_memory = pass->past_memory(t);
    for (std::size_t i = 0; i < result_.files.size(); ++i)
        result_.files[i].read_back = pass->read_back(i);
    const auto fail = [&](std::size_t number, const std::string& why, bool first_copy) {
        FileOutcome& file = result_.files[number];
        file.trouble += (file.trouble.empty() ? "" : "; ") + why;
        file.proof = FileOutcome::Proof::failed;
        if (first_copy && file.recording) record.take_back(file.copy);
    };
    for (const SpoiltCopy& spoilt : pass->spoilt())
        fail(spoilt.file, spoilt.why, spoilt.target == 0);
    for (const FickleFile& file : fickle) fail(file.file, file.why, true);
    record.finish();
    tell_trouble(record);
}

/// From the card, which was just read with this sum; where it gives that no more, from another
/// disk.
void Offload::fix(const std::vector<SpoiltCopy>& spoilt_copies, CopyRecord& record) {
    for (CopyTarget& target : targets_) target.prepare();
    for (const SpoiltCopy& spoilt : spoilt_copies) {
        const FileOutcome& file = result_.files[spoilt.file];
        std::vector<fs::path> sources{options_.card / file.path};
        for (std::size_t t = 0; t < targets_.size(); ++t)
            if (t != spoilt.target) sources.push_back(targets_[t].folder() / file.copy);
        CopyTarget& target = targets_[spoilt.target];
        for (const fs::path& source : sources) {
            if (!copy_over(target, file.copy, source, file.sha256)) continue;
            result_.repaired.push_back(printable((target.folder() / file.copy).native()) +
                                       ": made anew from " + printable(source.native()));
            record.add({.card_path = file.silenced ? "" : file.path,
                        .copy = file.copy,
                        .sha256 = file.sha256,
                        .recording = file.recording,
                        .proved = !file.silenced,
                        .trouble = "",
                        .without = {}});
            break;
        }
    }
    record.flush();
    for (CopyTarget& target : targets_) target.finish();
}

/// What is written at the end: OFFLOAD.txt, then the dates of proof of each place.
std::vector<fs::path> Offload::text_paths() const {
    std::vector<fs::path> paths{targets_[0].folder() / kOffloadReport};
    for (const CopyTarget& target : targets_)
        paths.push_back(target.folder() / ProofDates::kFileName);
    return paths;
}

std::vector<std::string> Offload::texts(const OffloadResult& result) const {
    std::vector<std::string> all{card_in_words(result) + verdict(result)};
    for (const CopyTarget& target : targets_) {
        ProofDates dates = ProofDates::load(target.folder());
        for (const FileOutcome& file : result.files) {
            if (file.copy.empty()) continue;
            if (file.proved() && file.read_back == targets_.size())
                dates.set(file.copy, began_);
            else if (file.proof == FileOutcome::Proof::salvaged)
                dates.set(file.copy, ProofDates::kSalvaged);
            else if (file.proof == FileOutcome::Proof::failed)
                dates.remove(file.copy);
        }
        all.push_back(dates.text());
    }
    return all;
}

/// What the first hours sound like, where nothing of the deployment is measured yet; no segments
/// otherwise.
FirstHours Offload::hear_first_hours() const {
    const RecorderClock clock(survey_, deployment_);
    const Zone zone = Zone::named(survey_.time_zone);
    std::vector<std::pair<Instant, RecordingRow>> placed;
    bool measured = false;
    store_.for_each_recording_of(deployment_.name, [&](const RecordingRow& row) {
        measured = measured || row.state == RecordingState::measured;
        if (row.gone || !row.start || row.frames == 0 || row.sample_rate == 0) return;
        std::optional<std::chrono::seconds> offset;
        if (row.start_offset_s) offset = std::chrono::seconds(*row.start_offset_s);
        const Instant start = clock.read(*row.start, offset).instant;
        const LocalTime local = zone.to_local(start).time;
        const bool outside = (deployment_.start && local < *deployment_.start) ||
                             (deployment_.end && local >= *deployment_.end);
        if (!outside) placed.emplace_back(start, row);
    });
    if (measured) return {};
    std::stable_sort(placed.begin(), placed.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<RecordingRow> rows;
    std::vector<TimedRecording> times;
    for (const auto& [start, row] : placed) {
        rows.push_back(row);
        times.push_back({std::chrono::duration<double>(start.time_since_epoch()).count(),
                         static_cast<double>(row.frames) / row.sample_rate});
    }
    return listen_to(survey_, rows, first_points(times, survey_.measure.segment_s));
}

/// Before the copies are read back, since nothing is written after that when all is well.
void Offload::keep_for_board(CopyRecord& record, const OffloadResult& result, bool listen) {
    const FirstHours heard = listen && !interrupted() ? hear_first_hours() : FirstHours{};
    record.write([&](Store& store) {
        keep_note(store, deployment_.name, note_of(result));
        if (heard.segments > 0) keep_first_hours(store, deployment_.name, heard);
    });
    record.flush();
    store_.settle();
}

/// Reads all back; what is to be written is written before, in the hope that all is well.
void Offload::judge(CopyRecord& record) {
    find_in_copies();
    OffloadResult hoped = result_;
    hoped.closed = true;
    for (FileOutcome& file : hoped.files) file.read_back = file.proved() ? targets_.size() : 0;
    for (CopyPlace& place : hoped.places) place.past_memory = place.disk.reads_past_memory;
    try {
        const std::vector<fs::path> paths = text_paths();
        const std::vector<std::string> hoped_texts = texts(hoped);
        std::vector<std::unique_ptr<HopedFile>> files;
        for (std::size_t i = 0; i < paths.size(); ++i)
            files.push_back(std::make_unique<HopedFile>(paths[i], hoped_texts[i]));
        keep_for_board(record, hoped, true);
        close(record);
        if (note_of(result_) != note_of(hoped)) keep_for_board(record, result_, false);
        const std::vector<std::string> now = texts(result_);
        for (std::size_t i = 0; i < files.size(); ++i) files[i]->settle(now[i]);
    } catch (const MachineError& error) {
        forget_presumed();
        if (result_.stopped.empty()) result_.stopped = error.what();
    }
}

/// Somebody may have plugged in a recorder that was still running, or another program tidied up.
void Offload::list_again() {
    Inventory now;
    try {
        now = list_recordings(options_.card, DotNames::tell);
    } catch (const InputError& error) {
        result_.stopped = std::string("the card is no longer there: ") + error.what();
        return;
    } catch (const MachineError& error) {
        result_.stopped = error.what();
        return;
    }
    if (card_.is_open() && !card_.is_at(options_.card)) {
        result_.stopped = printable(options_.card.native()) +
                          ": another card is there than when the run began; put one in and run "
                          "again, without changing it under way";
        return;
    }
    std::map<std::string, const FoundFile*> found;
    for (const auto* list : {&now.recordings, &now.others})
        for (const FoundFile& file : *list) found[file.path] = &file;
    const auto changed = [this](const std::string& path, const char* how) {
        result_.changes.push_back(printable(path) + ": " + how);
    };
    for (FileOutcome& file : result_.files) {
        const auto at = found.find(file.path);
        const bool gone = at == found.end();
        const bool same =
            !gone && at->second->size == file.size && at->second->modified_ns == file.modified_ns;
        if (!same) {
            changed(file.path, gone ? "is no longer there" : "was changed");
            file.proof = FileOutcome::Proof::failed;
            file.trouble = gone ? "it vanished from the card while the card was copied"
                                : "it was changed on the card while the card was copied";
        }
        if (!gone) found.erase(at);
    }
    for (const auto& [path, file] : found) changed(path, "is new");
    std::set<std::string> before;
    for (const LeftOut& thing : result_.left_out) before.insert(thing.path);
    for (LeftOut& thing : now.left_out)
        if (!before.contains(thing.path)) {
            changed(thing.path, "is new");
            result_.left_out.push_back(std::move(thing));
        }
}

}  // namespace hearwood

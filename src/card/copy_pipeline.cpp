#include "card/copy_pipeline.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "base/interrupt.h"
#include "base/text.h"
#include "measure/measure.h"
#include "platform/standard_gaps.h"

namespace hearwood {
namespace {

using Proof = FileOutcome::Proof;

// They wait for the disk rather than compute: most of all when they read small copies back.
constexpr int kProvers = 8;
// Small copies are synced together: most of a sync is the wait for the file system's journal. Large
// ones are not kept waiting for each other.
constexpr std::size_t kBatchFiles = 128;
constexpr std::uint64_t kBatchBytes = 8 << 20;
// So many recordings are compared with what the survey holds before the first copy gets its name.
constexpr std::size_t kProbes = 3;
constexpr std::size_t kRowsAtOnce = 64;

/// What is wrong with a copy that is not what the card held.
std::string salvage_trouble(const CardReading& reading) {
    std::string trouble;
    if (reading.unreadable > 0)
        trouble = fmt::format(
            "{} bytes from byte {} on could not be read from the card and are zeros in the copy",
            grouped(reading.unreadable), grouped(reading.first_unreadable));
    if (!reading.failure.empty()) trouble += (trouble.empty() ? "" : "; ") + reading.failure;
    return trouble;
}

}  // namespace

void CopyPipeline::run(FileCopier& copier) {
    std::vector<JoiningThread> provers, measurers;
    for (int i = 0; i < kProvers; ++i)
        provers.emplace_back([this] { work([this] { prove_copies(); }); });
    if (options_.measure)
        for (int i = 0; i < std::max(1, options_.jobs); ++i)
            measurers.emplace_back([this] { work([this] { measure_copies(); }); });
    work([&] { copy_card(copier); });
    to_prove_.close();
    provers.clear();
    to_measure_.close();
    measurers.clear();
    probes_.clear();
}

/// Runs a thread's task; what it throws ends all of them.
void CopyPipeline::work(const std::function<void()>& task) {
    try {
        task();
    } catch (...) {
        const std::scoped_lock lock(mutex_);
        if (!failure_) failure_ = std::current_exception();
        failed_ = true;
        to_prove_.abandon();
        to_measure_.abandon();
    }
}

void CopyPipeline::copy_card(FileCopier& copier) {
    std::vector<std::size_t> dead;  // files in a row of which nothing came
    try {
        for (std::size_t i = 0; i < result_.files.size(); ++i) {
            if (interrupted() || failed_) break;
            CopiedFile copied = copier.copy(i, result_.files[i]);
            if ((interrupted() || failed_) && !copied.reading.whole()) {  // its reading was stopped
                result_.files[i].proof = Proof::pending;
                break;
            }
            if (copied.reading.nothing())
                dead.push_back(i);
            else
                dead.clear();
            if (result_.files[i].proof != Proof::failed) take(std::move(copied));
        }
    } catch (const CardGone&) {
        // It died some files ago: that is one piece of news, not one a file.
        for (const std::size_t i : dead) {
            result_.files[i].proof = Proof::pending;
            result_.files[i].trouble.clear();
        }
        release_probes();
        throw;
    }
    release_probes();
}

/// Keeps the first copies back until they were looked at.
void CopyPipeline::take(CopiedFile copied) {
    if (!probing_) {
        to_prove_.put(std::move(copied));
        return;
    }
    const FileOutcome& file = result_.files[copied.index];
    if (file.recording && file.size > 0) probe(copied);
    probes_.push_back(std::move(copied));
    if (probes_.size() >= kProbes) release_probes();
}

void CopyPipeline::release_probes() {
    probing_ = false;
    for (CopiedFile& copied : probes_) to_prove_.put(std::move(copied));
    probes_.clear();
}

void CopyPipeline::prove_copies() {
    DiskReader disk;
    for (auto batch = synced_batch(); !batch.empty(); batch = synced_batch())
        for (CopiedFile& copied : batch) prove(copied, disk);
}

/// The next copies in line, every byte of them on its disk under its temporary name; none when no
/// more will come.
std::vector<CopiedFile> CopyPipeline::synced_batch() {
    std::unique_lock lock(batch_mutex_);
    std::uint64_t bytes = 0;
    std::size_t files = 1;
    std::vector<CopiedFile> batch = to_prove_.take_some([&](const CopiedFile& next) {
        bytes += next.reading.bytes;
        return files++ < kBatchFiles && bytes <= kBatchBytes;
    });
    if (batch.size() == 1) lock.unlock();
    std::map<std::size_t, std::vector<UnfinishedCopy*>> by_target;
    for (CopiedFile& copied : batch)
        for (auto& [target, copy] : copied.pending) {
            copy.end(result_.files[copied.index].modified_ns);
            by_target[target].push_back(&copy);
        }
    for (const auto& [target, copies] : by_target) sync_together(copies);
    return batch;
}

/// Whether every new copy is on its disk as it was read from the card.
bool CopyPipeline::reads_back(const CopiedFile& copied, FileOutcome& file, DiskReader& disk) {
    for (const auto& [target, copy] : copied.pending) {
        if (disk.hash(copy.temporary()).sha256 == copied.sha256) continue;
        file.proof = Proof::failed;
        file.trouble =
            "the copy reads back from the disk differently than it was written: do not trust this "
            "disk";
        return false;
    }
    return true;
}

/// False when another file has the name by now, or one that this disk takes for the same. A disk
/// that takes no such name is left out, the others get it.
bool CopyPipeline::names_it(CopiedFile& copied, FileOutcome& file) {
    for (auto& [target, copy] : copied.pending) {
        try {
            if (copy.publish()) continue;
        } catch (const FileRefused& error) {
            copied.without.push_back(target);
            file.trouble =
                printable(record_.target(target).folder().native()) + ": " + error.what();
            continue;
        }
        const std::string other = record_.target(target).name_on_disk(copied.copy);
        file.proof = Proof::failed;
        file.trouble = fmt::format(
            "{} takes its name {} for that of another copy, {}; nothing was overwritten: "
            "rename one of the two on the card, or run again, and the copy goes into a folder of "
            "its own",
            printable(record_.target(target).folder().native()), printable(copied.copy),
            printable(other));
        return false;
    }
    return true;
}

void CopyPipeline::prove(CopiedFile& copied, DiskReader& disk) {
    FileOutcome& file = result_.files[copied.index];
    if (!reads_back(copied, file, disk) || !names_it(copied, file)) return;
    if (file.proof == Proof::known_content) return;
    const bool whole = copied.reading.whole();
    if (!whole) file.trouble = salvage_trouble(copied.reading);
    const std::string path = record_.add({.card_path = file.silenced ? "" : file.path,
                                          .copy = copied.copy,
                                          .sha256 = copied.sha256,
                                          .recording = file.recording,
                                          .proved = whole && !file.silenced,
                                          .trouble = whole ? "" : file.trouble,
                                          .without = copied.without});
    if (!whole)
        file.proof = Proof::salvaged;
    else if (!copied.without.empty())
        file.proof = Proof::failed;
    else if (file.proof == Proof::pending)
        file.proof = Proof::copied;
    if (options_.measure && !path.empty()) to_measure_.put(path);
}

void CopyPipeline::measure_copies() {
    const RecordingFacts facts(survey_, measuring_settings(survey_.measure).hash);
    RecordingWorker worker(survey_.measure, facts, false);
    while (auto path = to_measure_.take()) {
        if (interrupted()) return;
        measure(*path, worker);
    }
}

/// What measure itself would do with this copy, by the same code.
void CopyPipeline::measure(const std::string& path, RecordingWorker& worker) {
    std::optional<RecordingRow> found;
    record_.write([&](Store& store) {
        found = store.find(path);
        if (found) store.delete_results(found->id);
    });
    if (!found) return;  // survey.db cannot be written; measure will come to it
    RecordingRow row = std::move(*found);
    std::vector<MeasuredSegment> rows;
    const auto append = [&] {
        record_.write([&](Store& store) { store.append(row.id, rows); });
        rows.clear();
    };
    worker.measure_whole(disk_path(survey_, row), row, [&](MeasuredSegment&& segment) {
        rows.push_back(std::move(segment));
        if (rows.size() == kRowsAtOnce) append();
    });
    append();
    if (record_.write([&](Store& store) { store.put(row); })) {
        const std::scoped_lock lock(mutex_);
        ++result_.measured;
    }
}

}  // namespace hearwood

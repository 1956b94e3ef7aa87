// Three lines of work side by side: one thread reads the card and writes copies under temporary
// names; some wait for the disk, read back, compare and give names; some measure what has its name.
// The card is the slow part and never waits for the others longer than the disk makes it.
#include "card/offload.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <exception>
#include <memory>
#include <thread>

#include "audio/start_time.h"
#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/text.h"
#include "card/copy_record.h"
#include "card/file_copier.h"
#include "card/work_queue.h"
#include "card/wrong_card.h"
#include "measure/measure.h"
#include "measure/recording_worker.h"
#include "survey/clock.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;
using Proof = FileOutcome::Proof;

// Copies that wait for their proof. Each holds one open file and no memory to speak of.
constexpr std::size_t kMostWaiting = 32;
// Waiting for the disk, not computing: several waits share one journal commit of the file system.
constexpr int kProvers = 8;
// So many recordings are compared with what the survey holds before the first copy gets its name.
constexpr std::size_t kProbes = 3;
// What the database, SHA256SUMS and the file system itself need beside the copies.
constexpr std::uint64_t kSpareBytes = 32 << 20, kSparePerFile = 8 << 10;
constexpr std::size_t kRowsAtOnce = 64;

const Deployment& deployment_named(const Survey& survey, const std::string& name) {
    std::vector<std::string> names;
    for (const Deployment& deployment : survey.deployments) {
        if (deployment.name == name) return deployment;
        names.push_back(deployment.name);
    }
    const auto near = nearest(name, names);
    const std::string mend = near                 ? "did you mean '" + *near + "'?"
                             : names.size() <= 12 ? "the sheet has " + join(names, ", ")
                                                  : "add a row for it to deployments.csv";
    throw InputError({Problem{
        .file = "deployments.csv", .value = name, .what = "no such deployment", .mend = mend}});
}

bool is_inside(const fs::path& inner, const fs::path& outer) {
    const std::string relative = inner.lexically_relative(outer).native();
    return !relative.empty() && !relative.starts_with("..");
}

class Offload {
  public:
    Offload(const Survey& survey, Store& store, const OffloadOptions& options)
        : survey_(survey),
          store_(store),
          options_(options),
          deployment_(deployment_named(survey, options.deployment)),
          names_(survey.start_time_pattern),
          clock_(survey, deployment_),
          known_(survey, store) {}

    OffloadResult run();

  private:
    void check_places() const;
    void list_card();
    void check_names();
    void object(const std::vector<std::string>& misfits) const;
    void check_space(const FileCopier& copier);
    bool is_salvaged(const std::string& copy) const;

    void copy_card(FileCopier& copier);
    void take(CopiedFile copied);
    void check_probe(const CopiedFile& copied);
    void release_probes();
    void prove_copies();
    void prove(CopiedFile copied);
    void measure_copies();
    void measure(const std::string& path, RecordingWorker& worker);
    void take_settings();
    void work(const std::function<void()>& task);
    void fail(std::exception_ptr error);
    void find_in_copies();

    const Survey& survey_;
    Store& store_;
    const OffloadOptions& options_;
    const Deployment& deployment_;
    StartTimeReader names_;
    RecorderClock clock_;
    KnownRecorders known_;
    OffloadResult result_;
    std::vector<CopyTarget> targets_;
    std::set<std::string> card_paths_;
    std::string prefix_;

    std::mutex
        mutex_;  // over store_, the targets' checksums, result_.measured and result_.past_cache
    std::unique_ptr<CopyRecord> record_;
    std::unique_ptr<Progress> progress_;
    WorkQueue<CopiedFile> to_prove_{kMostWaiting};
    WorkQueue<std::string> to_measure_{static_cast<std::size_t>(-1)};
    std::vector<CopiedFile> probes_;
    bool probing_ = true;
    std::atomic<bool> failed_{false};
    std::mutex failure_mutex_;
    std::exception_ptr failure_;
};

/// Nothing may be written to the card, and nothing read from where it is written to.
void Offload::check_places() const {
    const fs::path card = fs::weakly_canonical(options_.card);
    std::error_code ignored;
    if (fs::exists(card / "survey.toml", ignored))
        throw InputError(
            printable(options_.card.native()) + " holds a survey.toml: it is a survey, not a card",
            "the card comes first: hearwood offload CARD SURVEY --deployment D");
    for (const CopyTarget& target : targets_)
        if (is_inside(target.folder(), card) || is_inside(card, target.folder()))
            throw InputError("the card " + printable(card.native()) + " and the copies' folder " +
                                 printable(target.folder().native()) + " lie inside each other",
                             "give the folder of the card itself; nothing is ever written to it");
}

void Offload::list_card() {
    Inventory inventory = list_recordings(options_.card);
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

/// Throws unless forced.
void Offload::object(const std::vector<std::string>& misfits) const {
    if (misfits.empty() || options_.force) return;
    std::vector<Problem> problems;
    for (const std::string& misfit : misfits)
        problems.push_back(
            {.file = options_.card.native(),
             .what = "this does not look like the card of deployment '" + deployment_.name +
                     "': " + misfit,
             .mend = "check the card, the deployment and the dates in deployments.csv; nothing was "
                     "copied; if it is the right card add --force"});
    throw InputError(std::move(problems));
}

void Offload::check_names() {
    std::vector<std::string> prefixes;
    std::vector<Instant> starts;
    for (const FileOutcome& file : result_.files) {
        if (!file.recording) continue;
        prefixes.push_back(names_.prefix_of(file.path));
        if (const auto start = names_.from_name(file.path))
            starts.push_back(clock_.read(start->wall, start->utc_offset).instant);
    }
    prefix_ = identifying_prefix(prefixes);
    std::vector<std::string> misfits = known_.misfits(deployment_, prefix_, "");
    if (const std::string times = times_misfit(survey_, deployment_, starts); !times.empty())
        misfits.push_back(times);
    object(misfits);
    result_.cautions = std::move(misfits);
    result_.forced = !result_.cautions.empty();
}

void Offload::check_space(const FileCopier& copier) {
    std::uint64_t needed = kSpareBytes;
    for (const FileOutcome& file : result_.files)
        if (!copier.seems_copied(file)) {
            result_.bytes_needed += file.size;
            needed += file.size + kSparePerFile;
        }
    const bool shared =
        targets_.size() == 2 && targets_[0].file_system() == targets_[1].file_system();
    result_.same_disk = shared;
    if (result_.bytes_needed == 0) return;
    if (shared) needed *= 2;
    for (const CopyTarget& target : targets_) {
        const std::uint64_t free = target.free_bytes();
        if (free < needed)
            throw MachineError(
                fmt::format("{}: not enough space: the copies need {} MB{}, {} MB are free; free "
                            "some space or use another disk; nothing was copied",
                            printable(target.folder().native()),
                            grouped(static_cast<std::int64_t>(needed / 1'000'000 + 1)),
                            shared ? " (two of each, on one disk)" : "",
                            grouped(static_cast<std::int64_t>(free / 1'000'000))));
    }
}

/// A copy in which zeros stand for what the card did not give: a better reading replaces it.
bool Offload::is_salvaged(const std::string& copy) const {
    if (!record_) return false;
    const auto row = record_->row_of(copy);
    return row && !row->proved && !row->card_path.empty();
}

/// In the copying thread: keeps the first copies back until they were looked at.
void Offload::take(CopiedFile copied) {
    if (!probing_) {
        to_prove_.put(std::move(copied));
        return;
    }
    if (result_.files[copied.index].recording && result_.files[copied.index].size > 0)
        check_probe(copied);
    probes_.push_back(std::move(copied));
    if (probes_.size() >= kProbes) release_probes();
}

/// Content and serial number, which names cannot tell. The copy still has its temporary name.
void Offload::check_probe(const CopiedFile& copied) {
    std::vector<std::string> misfits;
    const FileOutcome& file = result_.files[copied.index];
    if (const auto same = record_->same_content(copied.sha256))
        misfits.push_back("its file " + printable(file.path) +
                          " was offloaded already for deployment '" + same->deployment + "', as " +
                          same->path);
    if (!copied.pending.empty() && copied.pending.front().target == 0) {
        auto opened = open_audio(copied.pending.front().copy.temporary());
        if (const auto* audio = std::get_if<AudioFile>(&opened))
            for (std::string& misfit :
                 known_.misfits(deployment_, "", name_to_utf8(recorder_serial(audio->metadata()))))
                misfits.push_back(std::move(misfit));
    }
    object(misfits);
    for (std::string& misfit : misfits)
        if (std::find(result_.cautions.begin(), result_.cautions.end(), misfit) ==
            result_.cautions.end())
            result_.cautions.push_back(std::move(misfit));
    result_.forced = !result_.cautions.empty();
}

void Offload::release_probes() {
    probing_ = false;
    for (CopiedFile& probe : probes_) to_prove_.put(std::move(probe));
    probes_.clear();
}

void Offload::copy_card(FileCopier& copier) {
    for (std::size_t i = 0; i < result_.files.size(); ++i) {
        if (interrupted() || failed_) break;
        CopiedFile copied = copier.copy(i, result_.files[i]);
        if (interrupted() && !copied.reading.whole()) {
            result_.files[i].proof = Proof::pending;
            break;
        }
        if (result_.files[i].proof != Proof::failed) take(std::move(copied));
    }
    release_probes();
}

void Offload::prove(CopiedFile copied) {
    FileOutcome& file = result_.files[copied.index];
    for (auto& [target, copy] : copied.pending) {
        copy.sync(file.modified_ns);
        const DiskHash back = hash_on_disk(copy.temporary());
        if (!back.past_cache) {
            const std::scoped_lock lock(mutex_);
            result_.past_cache = false;
        }
        if (back.sha256 != copied.sha256) {
            file.proof = Proof::failed;
            file.trouble =
                "the copy reads back from the disk differently than it was written: do not trust "
                "this disk";
            return;
        }
    }
    for (auto& pending : copied.pending) pending.copy.publish();
    if (file.proof == Proof::known_content) return;
    if (file.proof == Proof::pending) file.proof = Proof::copied;
    if (!copied.reading.whole()) {
        file.proof = Proof::salvaged;
        file.trouble =
            copied.reading.unreadable > 0
                ? fmt::format(
                      "{} bytes from byte {} on could not be read from the card and are zeros in "
                      "the copy",
                      grouped(static_cast<std::int64_t>(copied.reading.unreadable)),
                      grouped(static_cast<std::int64_t>(copied.reading.first_unreadable)))
                : copied.reading.failure;
        if (copied.reading.unreadable > 0 && !copied.reading.failure.empty())
            file.trouble += "; " + copied.reading.failure;
    }
    const std::string path = record_->add({file.path, copied.copy, copied.sha256, file.recording,
                                           copied.reading.whole(), file.trouble});
    if (options_.measure && !path.empty()) to_measure_.put(path);
}

void Offload::prove_copies() {
    while (auto copied = to_prove_.take()) prove(std::move(*copied));
}

/// What measure itself would do with this copy, by the same code.
void Offload::measure(const std::string& path, RecordingWorker& worker) {
    RecordingRow row;
    record_->write([&](Store& store) {
        row = store.find(path).value();
        store.delete_results(row.id);
    });
    std::vector<MeasuredSegment> rows;
    const auto append = [&] {
        record_->write([&](Store& store) { store.append(row.id, rows); });
        rows.clear();
    };
    worker.measure_whole(disk_path(survey_, row), row, [&](MeasuredSegment&& segment) {
        rows.push_back(std::move(segment));
        if (rows.size() == kRowsAtOnce) append();
    });
    append();
    record_->write([&](Store& store) {
        store.put(row);
        ++result_.measured;
    });
}

/// Results of other settings must not stand beside those that are to come.
void Offload::take_settings() {
    const StoredSettings settings = measuring_settings(survey_.measure);
    const auto before = store_.settings();
    if (before && before->hash == settings.hash) return;
    if (before)
        fmt::print(stderr,
                   "measured with other settings: {}; those results are dropped, measure makes "
                   "them anew\n",
                   printable(settings_difference(*before, settings)));
    store_.begin();
    store_.replace_settings(settings);
    store_.commit();
}

void Offload::measure_copies() {
    const RecordingFacts facts(survey_, measuring_settings(survey_.measure).hash);
    RecordingWorker worker(survey_.measure, facts, false);
    while (auto path = to_measure_.take()) {
        if (interrupted()) return;
        measure(*path, worker);
    }
}

void Offload::fail(std::exception_ptr error) {
    const std::scoped_lock lock(failure_mutex_);
    if (!failure_) failure_ = error;
    failed_ = true;
    to_prove_.abandon();
    to_measure_.abandon();
}

/// Runs a thread's task; what it throws ends all of them.
void Offload::work(const std::function<void()>& task) {
    try {
        task();
    } catch (...) {
        fail(std::current_exception());
    }
}

void Offload::find_in_copies() {
    std::map<std::string, const FileOutcome*> by_copy;
    for (const FileOutcome& file : result_.files)
        if (file.recording && !file.copy.empty() &&
            (file.proved() || file.proof == Proof::salvaged))
            by_copy[stored_path(
                (fs::path(deployment_.folder) / file.copy).lexically_normal().native())] = &file;
    std::vector<CardRecording> recordings;
    store_.for_each_recording_of(deployment_.name, [&](const RecordingRow& row) {
        const auto at = by_copy.find(row.path);
        if (at == by_copy.end()) return;
        CardRecording recording;
        recording.path = at->second->path;
        recording.size = at->second->size;
        recording.sha256 = row.sha256;
        if (row.start) {
            std::optional<std::chrono::seconds> offset;
            if (row.start_offset_s) offset = std::chrono::seconds(*row.start_offset_s);
            recording.start = clock_.read(*row.start, offset).instant;
        }
        if (row.sample_rate > 0)
            recording.seconds = static_cast<double>(row.frames) / row.sample_rate;
        recording.sample_rate = row.sample_rate;
        recording.channels = row.channels;
        recording.bits = row.bits;
        recording.serial = row.serial;
        if (row.state != RecordingState::no_start_time && at->second->proved())
            recording.damage = row.reason;
        recordings.push_back(std::move(recording));
    });
    result_.findings = find_in_card(recordings, survey_, deployment_);
}

OffloadResult Offload::run() {
    targets_.emplace_back(survey_.folder, deployment_.folder);
    if (options_.second) targets_.emplace_back(*options_.second, deployment_.folder);
    result_.folder = deployment_.folder;
    if (options_.second) result_.second_folder = targets_[1].folder().native();
    result_.dry_run = options_.dry_run;
    check_places();
    list_card();
    check_names();

    CardReader reader(options_.card);
    reader.stop = [this] { return interrupted() || failed_.load(); };
    FileCopier copier(reader, targets_, card_paths_, mutex_,
                      [this](const std::string& copy) { return is_salvaged(copy); });
    if (!options_.dry_run)
        record_ = std::make_unique<CopyRecord>(survey_, deployment_, store_, targets_, mutex_);
    check_space(copier);
    if (options_.dry_run) return std::move(result_);

    if (options_.measure) take_settings();
    for (CopyTarget& target : targets_) target.prepare();
    std::uint64_t bytes = 0;
    for (const FileOutcome& file : result_.files) bytes += file.size;
    progress_ = std::make_unique<Progress>("offloading", "MB", bytes / 1'000'000, options_.quiet,
                                           "MB a second");
    std::uint64_t read = 0;
    copier.progress = [&](std::uint64_t count) {
        progress_->add((read + count) / 1'000'000 - read / 1'000'000);
        read += count;
    };

    {
        std::vector<std::jthread> provers, measurers;
        for (int i = 0; i < kProvers; ++i)
            provers.emplace_back([this] { work([this] { prove_copies(); }); });
        if (options_.measure)
            for (int i = 0; i < std::max(1, options_.jobs); ++i)
                measurers.emplace_back([this] { work([this] { measure_copies(); }); });
        work([&] { copy_card(copier); });
        to_prove_.close();
        provers.clear();
        to_measure_.close();
    }
    probes_.clear();
    progress_->finish();
    result_.interrupted = interrupted();
    try {
        record_->flush();
    } catch (...) {
        fail(std::current_exception());
    }
    for (CopyTarget& target : targets_) target.finish();
    if (failure_) {
        try {
            std::rethrow_exception(failure_);
        } catch (const MachineError& error) {
            result_.stopped = error.what();
        }  // an InputError (the wrong card) and the unforeseen leave as they are
    }
    find_in_copies();
    return std::move(result_);
}

}  // namespace

bool OffloadResult::all_proved() const {
    return std::all_of(files.begin(), files.end(),
                       [](const FileOutcome& file) { return file.proved(); });
}

bool OffloadResult::may_wipe() const {
    const bool all_seen = std::none_of(left_out.begin(), left_out.end(),
                                       [](const LeftOut& thing) { return thing.hides; });
    return !dry_run && stopped.empty() && !interrupted && all_proved() && all_seen;
}

OffloadResult offload(const Survey& survey, Store& store, const OffloadOptions& options) {
    OffloadResult result = Offload(survey, store, options).run();
    if (options.dry_run) return result;
    try {
        write_whole_file(survey.folder / result.folder / kOffloadReport, verdict(result));
    } catch (const MachineError& error) {
        if (result.stopped.empty()) result.stopped = error.what();
    }
    return result;
}

}  // namespace hearwood

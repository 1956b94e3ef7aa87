#include "measure/measure.h"

#include <fmt/core.h>
#include <oneapi/tbb/enumerable_thread_specific.h>
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/parallel_pipeline.h>
#include <oneapi/tbb/task_arena.h>

#include <chrono>
#include <set>

#include "base/error.h"
#include "base/interrupt.h"
#include "base/log.h"
#include "base/sha256.h"
#include "base/text.h"
#include "base/version.h"
#include "measure/recording_worker.h"
#include "measure/results_writer.h"

namespace hearwood {

namespace {

/// Files from this size on are opened before they are handed out, to be cut into pieces.
constexpr std::int64_t kLongFileBytes = 24 << 20;

/// A piece is about this many samples, all channels together: some 10 ms of work, so that threads
/// end together.
constexpr std::int64_t kPieceSamples = 6'000'000;

/// Tasks of deployments that were looked at are kept up to this number; beyond it folders are
/// listed again.
constexpr std::size_t kTasksKept = 50'000;

/// One run over the survey: looks first, then pieces through a pipeline of opening, measuring and
/// writing.
class Run {
  public:
    Run(const Survey& survey, Store& store, const MeasureOptions& options)
        : survey_(survey),
          store_(store),
          options_(options),
          settings_(measuring_settings(survey.measure)),
          facts_(survey, settings_.hash),
          cutter_(survey.measure, facts_, options.hash) {}

    MeasureSummary run() {
        const auto start = std::chrono::steady_clock::now();
        take_settings();
        look();
        if (!options_.dry_run && summary_.to_do > 0) measure();
        list_trouble();
        summary_.interrupted = interrupted();
        summary_.elapsed_s =
            std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        return std::move(summary_);
    }

  private:
    void take_settings();
    void write_notes();
    void look();
    void apply(const std::vector<RecordingRow>& updates);
    void measure();
    bool next_task(Task& task);
    bool next_piece(Piece& piece);
    void list_trouble();

    SurveyWalk::Options walk_options() const {
        return {settings_.hash, options_.hash, options_.part, options_.parts, options_.elsewhere};
    }

    const Survey& survey_;
    Store& store_;
    MeasureOptions options_;
    StoredSettings settings_;
    RecordingFacts facts_;
    MeasureSummary summary_;
    std::mutex store_mutex_;

    // The state of next_piece(), which one thread at a time calls.
    RecordingWorker cutter_;
    std::vector<Task> tasks_;  ///< at hand, those to come last first
    bool all_at_hand_ = true;
    std::optional<SurveyWalk> walk_;  ///< the second look, where not all were kept
    Piece uncut_;  ///< a long recording of which pieces are still to be handed out
};

void Run::take_settings() {
    const auto before = store_.settings();
    if (before && before->hash == settings_.hash) return;
    if (before) {
        summary_.stale_segments = store_.count_segments();
        log_line(fmt::format("measured with other settings: {}; {} measured again",
                             printable(settings_difference(*before, settings_)),
                             options_.dry_run
                                 ? counted(summary_.stale_segments, "segment") + " would be"
                                 : counted(summary_.stale_segments, "segment is", "segments are")));
    }
    if (options_.dry_run) return;
    store_.begin();
    store_.replace_settings(settings_);
    store_.commit();
}

/// Which program and which sheets the results come from.
void Run::write_notes() {
    const auto note = [&](const std::string& key, const std::string& value) {
        if (store_.note(key) != value) store_.set_note(key, value);
    };
    note("program_version", kVersion);
    note("cpu_path", cpu_path());
    for (const char* sheet : {"survey.toml", "sites.csv", "deployments.csv"}) {
        std::error_code ignored;
        const auto path = survey_.folder / sheet;
        if (std::filesystem::is_regular_file(path, ignored))
            note(std::string("sha256 of ") + sheet, sha256_of_file(path));
    }
}

void Run::apply(const std::vector<RecordingRow>& updates) {
    for (const RecordingRow& row : updates) {
        const std::int64_t id = store_.put(row);
        if (row.state == RecordingState::unreadable) store_.delete_results(id);
    }
}

/// Counts what there is to do; takes over what needs no file to be opened.
void Run::look() {
    SurveyWalk walk(survey_, walk_options());
    DeploymentLook look;
    if (!options_.dry_run) {
        store_.begin();
        write_notes();
    }
    while (walk.next(store_, look)) {
        if (!look.missing_folder.empty()) log_line(look.missing_folder);
        if (!options_.dry_run) {
            for (const auto& [id, path] : look.moves) store_.move(id, path);
            apply(look.updates);
        }
        summary_.found += look.found;
        summary_.unchanged += look.unchanged;
        summary_.gone += look.gone;
        summary_.to_do += static_cast<std::int64_t>(look.tasks.size());
        summary_.to_do_bytes += look.bytes;
        all_at_hand_ = all_at_hand_ && tasks_.size() + look.tasks.size() <= kTasksKept;
        if (all_at_hand_)
            std::move(look.tasks.begin(), look.tasks.end(), std::back_inserter(tasks_));
        else
            tasks_.clear();
    }
    if (!options_.dry_run) store_.commit();
    if (all_at_hand_)
        std::reverse(tasks_.begin(), tasks_.end());
    else
        walk_.emplace(survey_, walk_options());
}

bool Run::next_task(Task& task) {
    DeploymentLook look;
    while (tasks_.empty()) {
        if (!walk_) return false;
        const std::scoped_lock lock(store_mutex_);
        if (!walk_->next(store_, look)) return false;
        tasks_ = std::move(look.tasks);
        std::reverse(tasks_.begin(), tasks_.end());
    }
    task = std::move(tasks_.back());
    tasks_.pop_back();
    return true;
}

bool Run::next_piece(Piece& piece) {
    if (interrupted()) return false;
    if (!uncut_.recording) {
        Task task;
        if (!next_task(task)) return false;
        piece = Piece{};
        piece.recording = std::make_shared<RecordingInWork>();
        piece.recording->path = disk_path(survey_, task.row);
        piece.recording->task = std::move(task);
        RecordingInWork& recording = *piece.recording;
        if (recording.task.kind != Task::Kind::measure || recording.task.row.size < kLongFileBytes)
            return true;
        cutter_.open(recording);
        piece.opened = true;
        piece.from = recording.resume_at;
        piece.to = recording.segments;
        if (recording.row.state != RecordingState::pending || !cutter_.seeks_cheaply()) return true;
        uncut_ = piece;
    }
    // The next piece of a long recording.
    const RecordingInWork& recording = *uncut_.recording;
    const std::int64_t samples =
        cutter_.measurer().segment_samples(recording.row.sample_rate) * recording.row.channels;
    const std::int64_t segments = std::max<std::int64_t>(1, kPieceSamples / samples);
    piece = uncut_;
    piece.first = uncut_.from == recording.resume_at;
    piece.to = std::min(recording.segments, piece.from + segments);
    piece.last = piece.to == recording.segments;
    uncut_.from = piece.to;
    if (piece.last) uncut_ = Piece{};
    return true;
}

void Run::measure() {
    namespace tbb = oneapi::tbb;
    ResultsWriter writer(store_, store_mutex_, summary_, summary_.to_do_bytes, options_.quiet);
    const tbb::global_control threads(tbb::global_control::max_allowed_parallelism,
                                      static_cast<std::size_t>(options_.jobs));
    tbb::enumerable_thread_specific<RecordingWorker> workers(
        [&] { return RecordingWorker(survey_.measure, facts_, options_.hash); });

    const auto cut = [&](tbb::flow_control& control) {
        Piece piece;
        if (!next_piece(piece)) control.stop();
        return piece;
    };
    const auto work = [&](const Piece& piece) {
        return std::make_shared<PieceDone>(workers.local().work(piece));
    };
    const auto write = [&](const std::shared_ptr<PieceDone>& done) {
        writer.write(std::move(*done));
    };

    // In order at both ends: what is stored of a recording never has a hole, and the store's rows
    // come in the same order whatever the number of threads.
    tbb::task_arena arena(options_.jobs);
    arena.execute([&] {
        tbb::parallel_pipeline(
            2 * static_cast<std::size_t>(options_.jobs),
            tbb::make_filter<void, Piece>(tbb::filter_mode::serial_in_order, cut) &
                tbb::make_filter<Piece, std::shared_ptr<PieceDone>>(tbb::filter_mode::parallel,
                                                                    work) &
                tbb::make_filter<std::shared_ptr<PieceDone>, void>(
                    tbb::filter_mode::serial_in_order, write));
    });
    writer.finish();
}

void Run::list_trouble() {
    std::set<std::string> deployments;
    for (const Deployment& deployment : survey_.deployments) deployments.insert(deployment.name);
    store_.for_each_unusable([&](const RecordingRow& row) {
        if (row.gone || row.state == RecordingState::pending ||
            !deployments.contains(row.deployment))
            return;
        if (summary_.unusable++ < static_cast<std::int64_t>(kTroubleShown))
            summary_.trouble.push_back({row.path, row.state, row.reason});
    });
}

}  // namespace

MeasureSummary measure_survey(const Survey& survey, Store& store, const MeasureOptions& options) {
    return Run(survey, store, options).run();
}

std::int64_t recordings_to_do(const Survey& survey, const Store& store) {
    SurveyWalk walk(survey, {.settings_hash = measuring_settings(survey.measure).hash});
    std::int64_t count = 0;
    for (DeploymentLook look; walk.next(store, look);)
        count += static_cast<std::int64_t>(look.tasks.size());
    return count;
}

}  // namespace hearwood

#include "activity/even.h"

#include <fmt/core.h>
#include <oneapi/tbb/enumerable_thread_specific.h>
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/parallel_pipeline.h>
#include <oneapi/tbb/task_arena.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <tuple>
#include <utility>

#include "activity/even_measurer.h"
#include "aggregate/judged_segments.h"
#include "base/csv_cell.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/text.h"
#include "measure/shares.h"

namespace hearwood {
namespace {

constexpr std::size_t kTasksAtOnce = 20'000;  ///< gathered before they are measured
constexpr std::size_t kTasksInPiece = 20;
constexpr auto kCommitEvery = std::chrono::seconds(1);

/// A site in a window, and its noise, made by whoever needs it first.
struct Group {
    explicit Group(const EvenTerms::Place& where) : place(where) {}

    EvenTerms::Place place;
    std::once_flag made;
    std::optional<EvenBed> bed;
};

struct Recording {
    std::filesystem::path file;
    std::string path;
    int decided_rate = 0;
    RecordingRow row;  ///< of the measured store
};

struct GroupedTask {
    std::pair<std::size_t, int> key;  ///< site, window
    EvenTerms::Place place;
    EvenTask task;
};

struct Piece {
    std::shared_ptr<Group> group;
    std::vector<EvenTask> tasks;
};

struct PieceDone {
    std::vector<std::pair<std::int64_t, EvenRow>> rows;  ///< by recording
    std::int64_t unread = 0;
    std::string unread_path;
};

/// Gathers what is to be done as the segments pass, and does it in portions.
class EvenRun : public SegmentVisitor {
  public:
    EvenRun(const Survey& survey, const Store& measured, Store& out, const EvenOptions& options,
            EvenSummary& summary)
        : survey_(survey),
          measured_(measured),
          out_(out),
          options_(options),
          summary_(summary),
          shares_(options.parts),
          progress_("measuring on even terms", "segments", 0, options.quiet) {}

    void begin_recording(const KnownRecording& recording) override {
        known_.clear();
        const auto know = [&](const EvenRow& row) {
            known_[{row.channel, row.segment}] = row.terms;
        };
        measured_.for_each_even_of(recording.row.id, know);
        before_ = {summary_.segments, summary_.to_do, summary_.unread, tasks_.size()};
        if (options_.parts == 1) return;
        if (const auto there = same_in_part(recording.row)) out_.for_each_even_of(*there, know);
    }
    void segment(const JudgedSegment& segment) override;
    void end_recording(const KnownRecording&) override {
        if (options_.parts > 1) leave_to_others();
        if (tasks_.size() >= kTasksAtOnce) measure();
    }
    void finish() {
        measure();
        progress_.finish();
    }

  private:
    void measure();
    /// Dealt out by the segments that a recording has, done or not, so that all parts agree.
    void leave_to_others() {
        const std::int64_t segments = summary_.segments - before_.segments;
        if (segments == 0 || shares_.deal(static_cast<std::uint64_t>(segments)) == options_.part)
            return;
        summary_.segments = before_.segments;
        summary_.to_do = before_.to_do;
        summary_.unread = before_.unread;
        tasks_.erase(tasks_.begin() + static_cast<std::ptrdiff_t>(before_.tasks), tasks_.end());
    }
    /// The recording's number in a part that has it as it is now.
    std::optional<std::int64_t> same_in_part(const RecordingRow& row) const {
        const auto there = out_.find(row.path);
        if (!there || there->size != row.size || there->mtime_ns != row.mtime_ns ||
            there->settings != row.settings)
            return {};
        return there->id;
    }
    std::int64_t id_in_out(std::int64_t recording);
    std::vector<Piece> pieces();
    PieceDone work(const Piece& piece, EvenMeasurer& measurer) const;
    void write(const PieceDone& done);

    const Survey& survey_;
    const Store& measured_;
    Store& out_;
    const EvenOptions& options_;
    EvenSummary& summary_;
    Shares shares_;
    struct Counts {
        std::int64_t segments = 0, to_do = 0, unread = 0;
        std::size_t tasks = 0;
    } before_;  ///< the recording in hand
    Progress progress_;
    std::map<std::pair<int, int>, std::int64_t> known_;  ///< terms of the recording's segments
    std::map<std::tuple<std::size_t, int, std::size_t>, std::int64_t> fingerprints_;
    std::map<std::int64_t, Recording> recordings_;
    std::vector<GroupedTask> tasks_;
    std::chrono::steady_clock::time_point last_commit_;
};

void EvenRun::segment(const JudgedSegment& segment) {
    const auto place = summary_.terms.find(segment);
    if (!place) return;
    ++summary_.segments;
    const int window = segment.place.part.window;
    const auto [found, is_new] =
        fingerprints_.try_emplace({segment.site, window, segment.deployment});
    if (is_new) found->second = summary_.terms.fingerprint(*place, segment.deployment);
    const auto known = known_.find({segment.row->channel, segment.row->segment});
    if (known != known_.end() && known->second == found->second) return;
    ++summary_.to_do;
    if (options_.dry_run) return;
    const RecordingRow& row = segment.recording->row;
    if (row.gone) {
        if (summary_.unread++ == 0) summary_.unread_path = row.path;
        return;
    }
    if (!recordings_.contains(row.id))
        recordings_[row.id] = {survey_.folder / name_from_utf8(row.path), row.path,
                               decided_rate_of(survey_, segment.deployment), row};
    tasks_.push_back({{segment.site, window},
                      *place,
                      {row.id, segment.deployment, segment.row->channel, segment.row->segment,
                       segment.row->first_sample, segment.row->samples, found->second}});
}

/// Site by site and window by window, so that few beds of noise are held at a time.
std::vector<Piece> EvenRun::pieces() {
    std::stable_sort(tasks_.begin(), tasks_.end(),
                     [](const GroupedTask& a, const GroupedTask& b) { return a.key < b.key; });
    std::vector<Piece> pieces;
    const GroupedTask* before = nullptr;
    for (const GroupedTask& grouped : tasks_) {
        const bool new_group = !before || before->key != grouped.key;
        if (new_group || pieces.back().tasks.size() == kTasksInPiece)
            pieces.push_back(
                {new_group ? std::make_shared<Group>(grouped.place) : pieces.back().group, {}});
        pieces.back().tasks.push_back(grouped.task);
        before = &grouped;
    }
    return pieces;
}

PieceDone EvenRun::work(const Piece& piece, EvenMeasurer& measurer) const {
    PieceDone done;
    if (interrupted()) return done;
    Group& group = *piece.group;
    std::call_once(group.made,
                   [&] { group.bed = make_even_bed(survey_, summary_.terms, group.place); });
    std::int64_t opened = -1;
    std::optional<OpenRecording> open;
    for (const EvenTask& task : piece.tasks) {
        const Recording& recording = recordings_.at(task.recording);
        if (opened != task.recording) open = open_for_even(recording.file, recording.decided_rate);
        opened = task.recording;
        if (!open || !measurer.hear(*open, recording.path, task, *group.bed,
                                    summary_.terms.offset_db[task.deployment])) {
            if (done.unread++ == 0) done.unread_path = recording.path;
            continue;
        }
        done.rows.emplace_back(
            task.recording, EvenRow{task.channel, task.segment, task.terms,
                                    measurer.values(group.place.window->choirs, survey_.measure)});
    }
    return done;
}

void EvenRun::write(const PieceDone& done) {
    for (const auto& [recording, row] : done.rows) out_.put_even(id_in_out(recording), row);
    summary_.measured += static_cast<std::int64_t>(done.rows.size());
    if (summary_.unread == 0) summary_.unread_path = done.unread_path;
    summary_.unread += done.unread;
    progress_.add(done.rows.size());
    if (std::chrono::steady_clock::now() < last_commit_ + kCommitEvery) return;
    out_.commit();
    out_.begin();
    last_commit_ = std::chrono::steady_clock::now();
}

std::int64_t EvenRun::id_in_out(std::int64_t recording) {
    if (options_.parts == 1) return recording;
    RecordingRow row = recordings_.at(recording).row;
    if (const auto there = same_in_part(row)) return *there;
    row.id = 0;
    return out_.put(row);
}

void EvenRun::measure() {
    namespace tbb = oneapi::tbb;
    std::vector<Piece> work_list = pieces();
    tasks_.clear();
    if (work_list.empty()) return;
    tbb::enumerable_thread_specific<EvenMeasurer> measurers(
        [&] { return EvenMeasurer(survey_.measure, summary_.terms.sample_rate); });
    std::size_t next = 0;
    const auto cut = [&](tbb::flow_control& control) {
        if (next == work_list.size() || interrupted()) {
            control.stop();
            return Piece{};
        }
        return std::exchange(work_list[next++], Piece{});
    };
    const auto measure_piece = [&](const Piece& piece) {
        return std::make_shared<PieceDone>(work(piece, measurers.local()));
    };
    out_.begin();
    last_commit_ = std::chrono::steady_clock::now();
    const auto write_piece = [&](const std::shared_ptr<PieceDone>& done) { write(*done); };
    tbb::task_arena arena(options_.jobs);
    arena.execute([&] {
        tbb::parallel_pipeline(
            2 * static_cast<std::size_t>(options_.jobs),
            tbb::make_filter<void, Piece>(tbb::filter_mode::serial_in_order, cut) &
                tbb::make_filter<Piece, std::shared_ptr<PieceDone>>(tbb::filter_mode::parallel,
                                                                    measure_piece) &
                tbb::make_filter<std::shared_ptr<PieceDone>, void>(
                    tbb::filter_mode::serial_in_order, write_piece));
    });
    out_.commit();
    recordings_.clear();
}

/// To a hundredth of a decibel; missing for none.
double shown_level(double db) {
    return std::isinf(db) ? kMissing : std::nearbyint(db * 100) / 100;
}

}  // namespace

EvenSummary bring_even_up_to_date(const Survey& survey, const Store& measured, Store& out,
                                  const EvenOptions& options) {
    EvenSummary summary;
    const JudgedSegments segments(survey, measured);
    summary.terms = even_terms(survey, sounds_of_sites(measured, segments),
                               measured.settings()->hash, read_kept_trials(survey, measured));
    if (!summary.terms.impossible.empty()) return summary;
    const oneapi::tbb::global_control threads(oneapi::tbb::global_control::max_allowed_parallelism,
                                              static_cast<std::size_t>(options.jobs));
    EvenRun run(survey, measured, out, options, summary);
    SegmentVisitor* const visitors[] = {&run};
    try {
        segments.visit(visitors);
        run.finish();
    } catch (const Interrupted&) {
        summary.interrupted = true;
    }
    summary.interrupted = summary.interrupted || interrupted();
    return summary;
}

TableOf<EvenLine> even_table() {
    TableOf<EvenLine> table("even.csv", "even terms",
                            "A row is a site of the comparison in a window and a band of 250 Hz: "
                            "what was made of the levels (even.md).");
    table.column("window", "", "named part of the day", &EvenLine::window)
        .column("low_hz", "Hz", "lower edge of the band", &EvenLine::low_hz)
        .column("high_hz", "Hz", "upper edge of the band", &EvenLine::high_hz)
        .column("floor_dbfs", "dB",
                "background that every site gets, levelled; empty where no site has any",
                &EvenLine::floor_db)
        .column("set_by", "", "the site whose background that is", &EvenLine::set_by)
        .column("choir_sites", "1",
                "at how many of the sites compared the band is a choir's; empty outside of 750 to "
                "10,500 Hz",
                &EvenLine::choir_sites)
        .column("site", "", "recording site", &EvenLine::site)
        .column("noise_dbfs", "dB",
                "noise that the site gets, levelled; empty for none, and for a site that is too "
                "loud",
                &EvenLine::noise_db);
    return table;
}

std::vector<EvenLine> even_lines(const Survey& survey, const EvenTerms& terms) {
    std::vector<EvenLine> lines;
    for (const EvenWindow& window : terms.windows) {
        for (std::size_t band = 0; band < window.floor_db.size(); ++band) {
            EvenLine line;
            line.window = survey.windows[static_cast<std::size_t>(window.window)].name;
            line.low_hz = static_cast<double>(band) * EventGrid::kBackgroundBandHz;
            line.high_hz =
                std::min(line.low_hz + EventGrid::kBackgroundBandHz, terms.sample_rate / 2);
            line.floor_db = shown_level(window.floor_db[band]);
            if (!is_missing(line.floor_db)) line.set_by = survey.sites[window.loudest[band]].name;
            const double event_band = (line.low_hz - kFirstEventBandHz) / kEventBandHz;
            if (event_band >= 0 && event_band < kEventBands)
                line.choir_sites =
                    static_cast<int>(window.choir_sites[static_cast<std::size_t>(event_band)]);
            for (std::size_t s = 0; s < survey.sites.size(); ++s) {
                const EvenSite* site = window.find(s);
                if (!site) continue;
                line.site = survey.sites[s].name;
                line.noise_db = site->too_loud ? kMissing : shown_level(site->noise_db[band]);
                lines.push_back(line);
            }
        }
    }
    return lines;
}

}  // namespace hearwood

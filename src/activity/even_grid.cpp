#include "activity/even_grid.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <memory>
#include <mutex>
#include <tuple>
#include <utility>

#include "activity/even_measurer.h"
#include "aggregate/judged_segments.h"
#include "base/interrupt.h"
#include "base/parallel.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/text.h"
#include "measure/measure.h"
#include "measure/survey_walk.h"
#include "survey/windows.h"

namespace hearwood {
namespace {

/// The window as one of the variants has it.
struct Variant {
    EvenTerms terms;
    const EvenWindow* window = nullptr;
};

/// All segments that any choice of the survey has in the window, whether kept or not, at sites that
/// have even values there.
class WindowSegments : public SegmentVisitor {
  public:
    WindowSegments(const EvenWindow& terms, int window) : terms_(terms), window_(window) {}

    void segment(const JudgedSegment& segment) override {
        if (!segment.row->complete || segment.place.part.window != window_) return;
        const EvenSite* site = terms_.find(segment.site);
        if (!site || site->too_loud || segment.recording->row.gone) return;
        const SegmentRow& row = *segment.row;
        found.push_back({segment.site,
                         {segment.recording->row.id, segment.deployment, row.channel, row.segment,
                          row.first_sample, row.samples, 0}});
    }

    struct Found {
        std::size_t site;
        EvenTask task;
        auto key() const { return std::tuple(site, task.recording, task.channel, task.segment); }
    };
    std::vector<Found> found;  ///< those of several visits may stand there twice

    void sort() {
        std::sort(found.begin(), found.end(),
                  [](const Found& a, const Found& b) { return a.key() < b.key(); });
        const auto same = [](const Found& a, const Found& b) { return a.key() == b.key(); };
        found.erase(std::unique(found.begin(), found.end(), same), found.end());
    }

  private:
    const EvenWindow& terms_;
    int window_;
};

/// What a site is heard through, a bed for each level of the noise.
struct Beds {
    std::once_flag made;
    std::vector<EvenBed> beds;
};

struct GridTask {
    std::shared_ptr<Beds> beds;
    std::size_t site;
    RecordingRow row;
    std::string hash;
    std::vector<EvenTask> segments;
};

class EvenGridRun {
  public:
    EvenGridRun(const Survey& survey, Store& grid, const EvenGrid& what)
        : survey_(survey),
          grid_(grid),
          what_(what),
          window_(static_cast<int>(window_named(survey.windows, what.window).value_or(0))) {
        for (std::size_t i = 0; i < kEvenIndices.size(); ++i)
            if (what.index == std::string("even_") + kEvenIndices[i]) index_ = i;
        for (const EvenVariant& variant : what.variants)
            if (std::find(levels_.begin(), levels_.end(), variant.raised_db) == levels_.end())
                levels_.push_back(variant.raised_db);
    }

    void look(const Store& measured);
    GridSummary run(int jobs, bool quiet);

  private:
    void find_terms(const Store& measured);
    WindowSegments segments(const Store& measured) const;
    std::string hash_of(std::size_t site, const std::vector<EvenTask>& segments) const;
    bool work(std::size_t number, EvenMeasurer& measurer);
    void make_beds(const GridTask& task) const;
    bool measure(const GridTask& task, EvenMeasurer& measurer,
                 std::vector<MeasuredSegment>& rows) const;
    EvenTerms::Place place(std::size_t member, std::size_t site) const {
        return {variants_[member].window, variants_[member].window->find(site)};
    }

    const Survey& survey_;
    Store& grid_;
    const EvenGrid& what_;
    int window_;
    std::size_t index_ = 0;          ///< into kEvenIndices
    std::vector<double> levels_;     ///< of the noise, each once
    std::vector<Variant> variants_;  ///< parallel to EvenGrid::variants
    std::vector<GridTask> tasks_;    ///< by site, so that few beds are held at a time
    std::mutex mutex_;
    GridSummary summary_;
};

void EvenGridRun::find_terms(const Store& measured) {
    const JudgedSegments segments(survey_, measured);
    const SiteSounds sounds = sounds_of_sites(measured, segments);
    const KeptTrials trials = read_kept_trials(survey_, measured);
    for (const EvenVariant& variant : what_.variants)
        variants_.push_back(
            {varied_terms(survey_, sounds, measured.settings()->hash, trials, variant), nullptr});
    for (Variant& variant : variants_) {
        for (const EvenWindow& window : variant.terms.windows)
            if (window.window == window_) variant.window = &window;
        if (variant.window) continue;
        const std::string& why = variant.terms.impossible;
        throw InputError("nothing can be compared on even terms: " +
                             (why.empty() ? "fewer than two sites have kept segments in '" +
                                                printable(what_.window) + "'"
                                          : why),
                         "see docs/even.md, or declare an index that is not on even terms");
    }
}

WindowSegments EvenGridRun::segments(const Store& measured) const {
    WindowSegments segments(*variants_.front().window, window_);
    for (const Survey& choice : what_.choices) {
        SegmentVisitor* const visitors[] = {&segments};
        JudgedSegments(choice, measured).visit(visitors);
    }
    segments.sort();
    return segments;
}

/// Of all that a recording's values depend on, but for its sound.
std::string EvenGridRun::hash_of(std::size_t site, const std::vector<EvenTask>& segments) const {
    const std::size_t deployment = segments.front().deployment;
    std::string text = grid_.settings()->hash;
    for (std::size_t m = 0; m < variants_.size(); ++m)
        text += fmt::format("\n{}", variants_[m].terms.fingerprint(place(m, site), deployment));
    for (const EvenTask& task : segments)
        text += fmt::format("\n{} {}", task.channel, task.segment);
    return sha256_of(text);
}

void EvenGridRun::look(const Store& measured) {
    find_terms(measured);
    const WindowSegments segments = this->segments(measured);
    std::map<std::int64_t, RecordingRow> rows;
    for (const auto& found : segments.found) rows[found.task.recording];
    measured.for_each_recording([&](const RecordingRow& row) {
        if (const auto wanted = rows.find(row.id); wanted != rows.end()) wanted->second = row;
    });
    std::shared_ptr<Beds> beds;
    for (std::size_t from = 0, to = 0; from < segments.found.size(); from = to) {
        const auto& first = segments.found[from];
        std::vector<EvenTask> tasks;
        for (; to < segments.found.size() && segments.found[to].site == first.site &&
               segments.found[to].task.recording == first.task.recording;
             ++to)
            tasks.push_back(segments.found[to].task);
        const RecordingRow& row = rows.at(first.task.recording);
        const std::string hash = hash_of(first.site, tasks);
        const std::optional<RecordingRow> known = grid_.find(row.path);
        if (known && known->settings == hash && known->size == row.size &&
            known->mtime_ns == row.mtime_ns) {
            ++summary_.unchanged;
            continue;
        }
        if (tasks_.empty() || tasks_.back().site != first.site) beds = std::make_shared<Beds>();
        tasks_.push_back({beds, first.site, row, hash, std::move(tasks)});
    }
}

/// Parallel to levels_.
void EvenGridRun::make_beds(const GridTask& task) const {
    for (const double level : levels_) {
        std::size_t m = 0;
        while (what_.variants[m].raised_db != level) ++m;
        task.beds->beds.push_back(make_even_bed(survey_, variants_[m].terms, place(m, task.site)));
    }
}

/// False when a segment could not be read as it was measured.
bool EvenGridRun::measure(const GridTask& task, EvenMeasurer& measurer,
                          std::vector<MeasuredSegment>& rows) const {
    auto open = open_for_even(disk_path(survey_, task.row),
                              decided_rate_of(survey_, task.segments.front().deployment));
    if (!open) return false;
    std::call_once(task.beds->made, [&] { make_beds(task); });
    for (const EvenTask& segment : task.segments) {
        MeasuredSegment result;
        result.row = {segment.channel,
                      segment.segment,
                      segment.first_sample,
                      segment.samples,
                      true,
                      std::vector<double>(variants_.size())};
        const double offset = variants_.front().terms.offset_db[segment.deployment];
        for (std::size_t l = 0; l < levels_.size(); ++l) {
            if (interrupted() ||
                !measurer.hear(*open, task.row.path, segment, task.beds->beds[l], offset))
                return false;
            for (std::size_t m = 0; m < variants_.size(); ++m)
                if (what_.variants[m].raised_db == levels_[l])
                    result.row.values[m] =
                        measurer.values(variants_[m].window->choirs, what_.settings[m])[index_];
        }
        rows.push_back(std::move(result));
    }
    return true;
}

/// False when interrupted: nothing of it is kept.
bool EvenGridRun::work(std::size_t number, EvenMeasurer& measurer) {
    const GridTask task = std::move(tasks_[number]);  // its beds go with the site's last
    std::vector<MeasuredSegment> rows;
    const bool whole = measure(task, measurer, rows);
    if (interrupted()) return false;
    const std::lock_guard lock(mutex_);
    if (whole) replace_grid_rows(grid_, task.row, task.hash, rows);
    ++(whole ? summary_.measured : summary_.failed);
    return true;
}

GridSummary EvenGridRun::run(int jobs, bool quiet) {
    Progress progress("measuring on other even terms", "recordings", tasks_.size(), quiet);
    std::vector<std::unique_ptr<EvenMeasurer>> measurers(
        static_cast<std::size_t>(std::max(jobs, 1)));
    parallel_for(tasks_.size(), jobs, [&](std::size_t task, std::size_t worker) {
        std::unique_ptr<EvenMeasurer>& measurer = measurers[worker];
        if (!measurer)
            measurer = std::make_unique<EvenMeasurer>(survey_.measure,
                                                      variants_.front().terms.sample_rate);
        if (work(task, *measurer)) progress.add();
    });
    progress.finish();
    summary_.interrupted = interrupted();
    return summary_;
}

/// Each value is a column; what it is of stands in the JSON.
StoredSettings settings_of(const EvenGrid& what) {
    StoredSettings stored;
    stored.version = kMeasuringVersion;
    stored.json = fmt::format("[\"{}\",{}", what.index, kEvenVersion);
    for (std::size_t i = 0; i < what.variants.size(); ++i) {
        stored.json += fmt::format(",[{},{},{}]", format_number(what.variants[i].raised_db),
                                   format_number(what.variants[i].choir_share),
                                   measuring_settings(what.settings[i]).json);
        stored.columns.push_back(std::to_string(i));
    }
    stored.json += "]";
    stored.hash = sha256_of(std::to_string(stored.version) + stored.json);
    return stored;
}

}  // namespace

GridSummary measure_even_grid(const Survey& survey, const Store& measured, Store& grid,
                              const EvenGrid& what, int jobs, bool quiet) {
    keep_grid_settings(grid, settings_of(what));
    EvenGridRun run(survey, grid, what);
    run.look(measured);
    return run.run(jobs, quiet);
}

}  // namespace hearwood

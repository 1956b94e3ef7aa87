#include "report/report.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "aggregate/card_evidence.h"
#include "aggregate/coverage_table.h"
#include "aggregate/declarations.h"
#include "aggregate/site_averager.h"
#include "aggregate/sound_path.h"
#include "aggregate/table_columns.h"
#include "aggregate/tables.h"
#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/text.h"
#include "base/version.h"
#include "contrast/audit_inputs.h"
#include "contrast/contrast_inputs.h"
#include "report/page.h"
#include "report/page_html.h"
#include "report/summary.h"
#include "store/store.h"

namespace hearwood {

namespace {

/// Recordings of which nothing, or not all, could be used.
class TroubleGatherer : public SegmentVisitor {
  public:
    explicit TroubleGatherer(Page& page) : page_(page) {}
    void begin_recording(const KnownRecording& recording) override {
        ++page_.recordings;
        if (recording.unusable()) page_.unusable.push_back(*finding_about(recording));
    }

  private:
    Page& page_;
};

/// Flags that did not exclude: what the averages hold besides animals.
class FlagGatherer : public SegmentVisitor {
  public:
    void segment(const JudgedSegment& segment) override {
        if (!segment.averaged()) return;
        const Place place{segment.site, segment.place.part.hour};
        ++kept_[place];
        for (const Reason reason : {Reason::wind, Reason::rain, Reason::engine})
            if (segment.judgement.flags.has(reason)) ++flagged_[{place, reason}];
    }
    std::vector<KeptFlag> finish() const {
        std::vector<KeptFlag> flags;
        for (const auto& [key, segments] : flagged_) {
            const auto& [place, reason] = key;
            flags.push_back(
                {place.first, place.second, name_of(reason), segments, kept_.at(place)});
        }
        return flags;
    }

  private:
    using Place = std::pair<std::size_t, int>;
    std::map<Place, int> kept_;
    std::map<std::pair<Place, Reason>, int> flagged_;
};

/// The declared outcome, or what stands in for it: the first index in the first window.
void choose_primary(Page& page, const Survey& survey) {
    page.index = survey.contrast.primary_index;
    page.window = survey.contrast.primary_window;
    page.declared = !page.index.empty() && !page.window.empty();
    if (page.declared) return;
    const std::vector<TableColumn> columns = averaged_columns(survey);
    const auto first = std::find_if(columns.begin(), columns.end(), [](const TableColumn& column) {
        return column.column.kind == Column::Kind::index;
    });
    if (first != columns.end()) page.index = first->column.name;
    if (!survey.windows.empty()) page.window = survey.windows.front().name;
}

int place_of(const std::vector<std::string>& names, const std::string& name) {
    const auto found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? -1 : static_cast<int>(found - names.begin());
}

/// The primary index; where no single segment has it (what is counted outside choirs hangs on the
/// whole window) sound events, or else the first index that is stored.
std::string clip_index(const Page& page) {
    const std::vector<std::string>& stored = page.stored_columns;
    for (const std::string& name : {page.index, std::string("events")})
        if (place_of(stored, name) >= 0) return name;
    return stored.empty() ? page.index : stored.front();
}

/// Works out the contrast, or why there is none, and takes over what is kept of today.
void add_results(Page& page, const Survey& survey, const Store& store,
                 const JudgedSegments& segments, bool quiet) {
    page.kept = read_kept_results(survey, &page.values, store);
    try {
        Progress progress("contrasting", "indices", contrast_steps(page.values), quiet);
        page.contrast = compute_survey_contrast(survey, store, segments, page.values,
                                                page.kept.heard(), progress);
        progress.finish();
    } catch (const InputError& error) {
        page.contrast.plan = contrast_plan(survey, page.kept.heard());
        page.contrast.audit = audit_survey(survey, &page.values, {});
        for (const Problem& problem : error.problems())
            page.refused += (page.refused.empty() ? "" : " ") + one_line(problem) + ".";
    }
    std::vector<NamedTable> tables;
    if (page.refused.empty()) tables = tables_of(page.contrast);
    if (page.kept.robustness)
        tables.push_back(named_table(robustness_table(), robustness_rows(*page.kept.robustness)));
    if (const auto& score = page.kept.listening) {
        tables.push_back(named_table(follow_table(), score->follows));
        tables.push_back(named_table(agreement_table(), score->agreement));
        tables.push_back(named_table(screens_table(), score->screens));
        tables.push_back(named_table(heard_contrasts_table(), score->contrasts));
    }
    page.trials = read_kept_trials(survey, store);
    if (!page.trials.losses.empty())
        tables.push_back(named_table(path_loss_table(), page.trials.losses));
    for (NamedTable& table : tables) {
        const std::string& file = table.description.path;
        page.facts.emplace_back("tables/" + file + ", SHA-256", sha256_of(table.bytes()));
        page.results.emplace(file, std::move(table));
    }
}

void gather_facts(Page& page, const Survey& survey, const Store& store) {
    page.survey_toml = read_whole_file(survey.folder / "survey.toml");
    page.facts.emplace_back("program", std::string("hearwood ") + kVersion);
    if (const auto settings = store.settings()) {
        page.facts.emplace_back("measuring code", "version " + std::to_string(settings->version));
        page.facts.emplace_back("settings, SHA-256", settings->hash);
    }
    for (const char* sheet : {"survey.toml", "sites.csv", "deployments.csv"})
        page.facts.emplace_back(std::string(sheet) + ", SHA-256",
                                sha256_of_file(survey.folder / sheet));
    page.facts.emplace_back("recordings, SHA-256",
                            "in tables/recordings.csv, where they were computed");
}

/// Pictures and clips of an earlier report that this one did not write: old names would mislead.
void remove_leftovers(const std::filesystem::path& folder, const std::set<std::string>& written) {
    std::error_code ignored;
    for (const char* part : {"pictures", "clips"})
        for (const auto& entry :
             std::filesystem::recursive_directory_iterator(folder / part, ignored)) {
            const std::string extension = entry.path().extension().string();
            const std::string name = entry.path().lexically_relative(folder).generic_string();
            if (entry.is_regular_file() && (extension == ".png" || extension == ".flac") &&
                !written.contains(name))
                std::filesystem::remove(entry.path(), ignored);
        }
}

std::set<std::string> written_files(const Page& page) {
    std::set<std::string> names;
    for (const DayEntry& day : page.days.days) names.insert(day.file);
    const auto insert = [&](const Clip& clip) {
        names.insert(clip.sound);
        names.insert(clip.picture);
    };
    for (const Clip& clip : page.clips) insert(clip);
    for (const ClipPair& pair : page.pairs.pairs)
        for (const Clip& clip : pair.clips) insert(clip);
    return names;
}

/// What the clips take on the disk, sounds and pictures.
std::uint64_t bytes_of(const std::vector<Clip>& clips, const std::filesystem::path& folder) {
    std::uint64_t bytes = 0;
    for (const Clip& clip : clips)
        if (!clip.sound.empty())
            bytes += std::filesystem::file_size(folder / clip.sound) +
                     std::filesystem::file_size(folder / clip.picture);
    return bytes;
}

}  // namespace

ReportSummary write_report(const Survey& survey, const Store& store, const ReportOptions& options) {
    const std::filesystem::path folder =
        options.folder.empty() ? survey.folder / "hearwood" / "report" : options.folder;
    make_folder(folder);
    const JudgedSegments segments(survey, store);
    Page page(options.shown ? *options.shown : survey);
    page.stored_columns = segments.stored_columns();
    page.pictures_wanted = options.pictures;
    page.clips_wanted = options.clips;

    choose_primary(page, survey);

    DerivedValues derived(survey, store, segments);
    SiteAverager averager(survey, derived, segments);
    CoverageGatherer coverage(survey, segments.placer());
    TroubleGatherer trouble(page);
    page.clip_index = clip_index(page);
    SegmentGatherer gathered(place_of(page.stored_columns, page.clip_index));
    FlagGatherer flags;
    LostGatherer lost(segments.placer().zone());
    SegmentVisitor* const visitors[] = {&derived, &averager, &coverage, &trouble,
                                        &flags,   &lost,     &gathered};
    segments.visit(visitors);
    page.kept_flags = flags.finish();
    page.lost = lost.finish();
    page.values = averager.finish(segments);
    page.values.evidence = card_evidence(survey, store);
    page.coverages = coverage.coverages();
    gather_facts(page, survey, store);
    add_results(page, survey, store, segments, options.quiet);
    page.declared_when = declared_when(declarations(store));

    if (options.pictures)
        page.days = draw_days(survey, gathered, folder, options.jobs, options.quiet);
    if (options.clips) {
        page.clips = cut_clips(survey, store, gathered, folder, options.jobs, options.quiet);
        page.pairs = cut_pairs(survey, store, gathered, page.window, folder);
    }
    ReportSummary summary;
    if (interrupted()) return summary;

    // Hundreds of files, each synced alone, would take longer than all the rest. The page comes
    // after them, so that it never names one that a power cut took.
    sync_file_system(folder);
    const std::string html = page_html(page);
    write_whole_file(folder / "index.html", html);
    write_whole_file(folder / "summary.html", summary_html(page));
    remove_leftovers(folder, written_files(page));
    summary.page = folder / "index.html";
    summary.methods = methods_text(page);
    for (const Finding& old : told_as_old(page.kept)) summary.old.push_back(sentences(old));
    summary.page_bytes = html.size();
    summary.pictures = page.days.days.size();
    summary.clips = static_cast<std::size_t>(
        std::count_if(page.clips.begin(), page.clips.end(),
                      [](const Clip& clip) { return !clip.sound.empty(); }));
    summary.clips_bytes = bytes_of(page.clips, folder);
    summary.clips_missing = page.clips.size() - summary.clips;
    return summary;
}

}  // namespace hearwood

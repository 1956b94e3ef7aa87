#include "report/report.h"

#include <algorithm>
#include <set>

#include "aggregate/coverage_table.h"
#include "aggregate/declarations.h"
#include "aggregate/site_averager.h"
#include "aggregate/table_columns.h"
#include "aggregate/tables.h"
#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/sha256.h"
#include "base/version.h"
#include "report/page.h"
#include "report/page_html.h"
#include "store/store.h"

namespace hearwood {

namespace {

/// Recordings of which nothing, or not all, could be used.
class TroubleGatherer : public SegmentVisitor {
  public:
    explicit TroubleGatherer(Page& page) : page_(page) {}
    void begin_recording(const KnownRecording& recording) override {
        ++page_.recordings;
        if (recording.troubled()) page_.troubled.push_back(*finding_about(recording));
    }

  private:
    Page& page_;
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

void read_results(Page& page, const Survey& survey, const std::vector<TableDescription>& tables) {
    const std::filesystem::path folder = tables_folder(survey.folder);
    for (const TableDescription& description : tables) {
        // Hundreds of rows that no chart shows.
        if (description.path == "robustness_grid.csv") continue;
        if (auto table = read_result_table(folder, description))
            page.results.emplace(description.path, std::move(*table));
    }
    if (const ResultTable* contrasts = page.result("contrasts.csv")) {
        page.contrasts = contrast_rows(*contrasts, survey);
        page.contrasts_stale = !agree(page.contrasts, survey, page.values);
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
    for (const auto& [file, table] : page.results)
        page.facts.emplace_back("tables/" + file + ", SHA-256",
                                sha256_of_file(tables_folder(survey.folder) / file));
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
    for (const Clip& clip : page.clips) {
        names.insert(clip.sound);
        names.insert(clip.picture);
    }
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

int place_of(const std::vector<std::string>& names, const std::string& name) {
    const auto found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? -1 : static_cast<int>(found - names.begin());
}

}  // namespace

ReportSummary write_report(const Survey& survey, const Store& store, const ReportOptions& options) {
    const std::filesystem::path folder = survey.folder / "hearwood" / "report";
    make_folder(folder);
    const JudgedSegments segments(survey, store);
    Page page(survey);
    page.stored_columns = segments.stored_columns();
    page.pictures_wanted = options.pictures;
    page.clips_wanted = options.clips;

    choose_primary(page, survey);

    DerivedValues derived(survey, store, segments);
    SiteAverager averager(survey, derived, segments);
    CoverageGatherer coverage(survey, segments.placer());
    TroubleGatherer trouble(page);
    SegmentGatherer gathered(place_of(page.stored_columns, page.index));
    SegmentVisitor* const visitors[] = {&derived, &averager, &coverage, &trouble, &gathered};
    segments.visit(visitors);
    page.values = averager.finish(segments);
    page.coverages = coverage.coverages();
    page.audited = static_cast<bool>(options.audit);
    if (options.audit) {
        Audit audit = options.audit(page.values, page.coverages);
        page.findings = std::move(audit.findings);
        page.looked_at = std::move(audit.looked_at);
    }
    read_results(page, survey, options.tables);
    gather_facts(page, survey, store);
    page.declared_when = declared_when(declarations(store));

    if (options.pictures)
        page.days = draw_days(survey, gathered, folder, options.jobs, options.quiet);
    if (options.clips)
        page.clips = cut_clips(survey, store, gathered, folder, options.jobs, options.quiet);
    ReportSummary summary;
    if (interrupted()) return summary;

    // Hundreds of files, each synced alone, would take longer than all the rest. The page comes
    // after them, so that it never names one that a power cut took.
    sync_file_system(folder);
    const std::string html = page_html(page);
    write_whole_file(folder / "index.html", html);
    remove_leftovers(folder, written_files(page));
    summary.page = folder / "index.html";
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

#include "aggregate/tables.h"

#include <algorithm>
#include <set>

#include "aggregate/coverage_table.h"
#include "aggregate/mean_tables.h"
#include "aggregate/segment_table.h"
#include "aggregate/site_averager.h"
#include "base/file.h"
#include "base/progress.h"
#include "store/store.h"

namespace hearwood {
namespace {

void add_orphans(const Survey& survey, const Store& store, RecordingTable& table) {
    std::set<std::string> known;
    for (const Deployment& deployment : survey.deployments) known.insert(deployment.name);
    store.for_each_recording([&](const RecordingRow& row) {
        if (known.contains(row.deployment)) return;
        table.orphan(row, std::any_of(survey.left_out.begin(), survey.left_out.end(),
                                      [&](const LeftOutRow& left_out) {
                                          return !left_out.is_site &&
                                                 left_out.name == row.deployment;
                                      }));
    });
}

}  // namespace

std::filesystem::path tables_folder(const std::filesystem::path& survey_folder) {
    return survey_folder / "hearwood" / "tables";
}

std::vector<TableDescription> survey_tables(const Survey& survey) {
    return {segments_table(survey).description(),     site_hours_table(survey).description(),
            site_windows_table(survey).description(), hours_table(survey).description(),
            windows_table(survey).description(),      recordings_table(Zone()).description(),
            coverage_table(survey).description(),     decisions_applied_table().description(),
            sites_table(survey).description(),        deployments_table(survey).description()};
}

TablesWritten write_tables(const Survey& survey, const Store& store,
                           const std::filesystem::path& folder, bool quiet,
                           std::span<const TableDescription> results) {
    const JudgedSegments segments(survey, store);
    make_folder(folder);
    Progress progress("writing tables", "segments", segments.segments(), quiet);
    DerivedValues derived(survey, store, segments);
    SegmentTable segment_table(survey, derived, segments, folder / "segments.csv", progress);
    RecordingTable recording_table(segments.placer().zone(), folder / "recordings.csv");
    CoverageGatherer coverage(survey, segments.placer());
    SiteAverager averager(survey, derived, segments);
    SegmentVisitor* const visitors[] = {&derived, &segment_table, &recording_table, &coverage,
                                        &averager};
    segments.visit(visitors);
    progress.finish();
    add_orphans(survey, store, recording_table);

    segment_table.commit();
    recording_table.commit();
    TablesWritten written;
    written.recordings = recording_table.recordings();
    written.unusable = recording_table.unusable();
    written.values = averager.finish(segments);
    written.coverages = coverage.coverages();
    write_table(decisions_applied_table(), written.values.applied,
                folder / "decisions_applied.csv");
    write_coverage(survey, written.coverages, folder / "coverage.csv");
    write_mean_tables(survey, written.values, folder);
    write_sheet_tables(survey, folder);
    write_data_package(survey, store, folder, results);
    return written;
}

}  // namespace hearwood

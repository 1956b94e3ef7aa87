#include "aggregate/coverage_table.h"

#include "aggregate/table_fields.h"

namespace hearwood {

void CoverageGatherer::begin_deployment(std::size_t, std::span<const KnownRecording>) {
    usable_.emplace(placer_.zone());
}

void CoverageGatherer::segment(const JudgedSegment& segment) {
    if (segment.judgement.kept())
        add_usable(*usable_, segment.place.start, segment.duration_s(),
                   segment.recording->row.channels);
}

void CoverageGatherer::end_deployment(std::size_t deployment,
                                      std::span<const KnownRecording> recordings) {
    coverages_.push_back(coverage_of(survey_, placer_, deployment, recordings, &*usable_));
}

TableOf<CoverageLine> coverage_table(const Survey& survey) {
    using Line = CoverageLine;
    const auto minutes = [](const char* name, const char* meaning) {
        TableField field = number_field(name, "min", name, meaning);
        field.minimum = 0;
        field.required = true;
        return field;
    };
    TableOf<Line> table(
        "coverage.csv", "coverage",
        "A row is a deployment, a date and an hour in which recordings were expected or made.");
    table
        .column(deployment_field(),
                [&](const Line& l) { return survey.deployments[l.deployment].name; })
        .column(
            site_field(),
            [&](const Line& l) { return survey.sites[survey.deployments[l.deployment].site].name; })
        .column(date_field("local date"), [](const Line& l) { return format_date(l.hour.date); })
        .column(hour_field(), [](const Line& l) { return l.hour.hour; })
        .column(minutes("expected",
                        "minutes that should be there, by expected_minutes_per_hour or the "
                        "rhythm of the files"),
                [](const Line& l) { return l.hour.expected; })
        .column(minutes("present", "minutes recorded and readable"),
                [](const Line& l) { return l.hour.present; })
        .column(minutes("usable",
                        "minutes of them that no screen excludes; before measuring, the same as "
                        "present"),
                [](const Line& l) { return l.hour.usable; });
    return table.key({"deployment", "date", "hour"})
        .refers({{"deployment"}, "deployments", {"deployment"}});
}

void write_coverage(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                    const std::filesystem::path& file) {
    TableFile<CoverageLine> table(coverage_table(survey), file);
    for (const DeploymentCoverage& coverage : coverages)
        for (const HourCoverage& hour : coverage.hours) table.add({coverage.deployment, hour});
    table.commit();
}

}  // namespace hearwood

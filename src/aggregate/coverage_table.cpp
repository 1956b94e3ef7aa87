#include "aggregate/coverage_table.h"

#include "aggregate/table_descriptions.h"
#include "base/csv_writer.h"

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

void write_coverage(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                    const std::filesystem::path& file) {
    CsvWriter csv(file, header_of(describe_coverage()));
    for (const DeploymentCoverage& coverage : coverages) {
        const Deployment& deployment = survey.deployments[coverage.deployment];
        for (const HourCoverage& hour : coverage.hours) {
            csv.text(deployment.name);
            csv.text(survey.sites[deployment.site].name);
            csv.text(format_date(hour.date));
            csv.integer(hour.hour);
            csv.number(hour.expected);
            csv.number(hour.present);
            csv.number(hour.usable);
            csv.end_row();
        }
    }
    csv.commit();
}

}  // namespace hearwood

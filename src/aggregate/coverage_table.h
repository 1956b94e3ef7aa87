// coverage.csv, and the coverage of each deployment as its recordings pass.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/judged_segments.h"
#include "base/table.h"

namespace hearwood {

class CoverageGatherer : public SegmentVisitor {
  public:
    CoverageGatherer(const Survey& survey, const Placer& placer)
        : survey_(survey), placer_(placer) {}
    void begin_deployment(std::size_t deployment,
                          std::span<const KnownRecording> recordings) override;
    void segment(const JudgedSegment& segment) override;
    void end_deployment(std::size_t deployment,
                        std::span<const KnownRecording> recordings) override;
    /// In the order of the deployments' names.
    const std::vector<DeploymentCoverage>& coverages() const { return coverages_; }

  private:
    const Survey& survey_;
    const Placer& placer_;
    std::optional<HourMinutes> usable_;
    std::vector<DeploymentCoverage> coverages_;
};

/// A row of coverage.csv: an hour of a deployment in which recordings were expected or made.
struct CoverageLine {
    std::size_t deployment = 0;
    HourCoverage hour;
};
/// The survey must outlive the table.
TableOf<CoverageLine> coverage_table(const Survey& survey);

/// Writes coverage.csv, whole or not at all.
void write_coverage(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                    const std::filesystem::path& file);

}  // namespace hearwood

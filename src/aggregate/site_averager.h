// Gathers SiteValues from the segments as they pass.
#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "aggregate/applied_steps.h"
#include "aggregate/date_cells.h"
#include "aggregate/derived_values.h"
#include "aggregate/judged_segments.h"
#include "aggregate/table_columns.h"
#include "aggregate/window_cells.h"

namespace hearwood {

class SiteAverager : public SegmentVisitor {
  public:
    /// `derived` is visited before this.
    SiteAverager(const Survey& survey, const DerivedValues& derived,
                 const JudgedSegments& segments);

    void begin_deployment(std::size_t deployment,
                          std::span<const KnownRecording> recordings) override {
        applied_.begin_deployment(deployment, recordings);
    }
    void begin_recording(const KnownRecording& recording) override {
        applied_.begin_recording(recording);
    }
    void segment(const JudgedSegment& segment) override;
    void end_deployment(std::size_t deployment, std::span<const KnownRecording>) override;
    /// Once, after all segments.
    SiteValues finish(const JudgedSegments& segments);

  private:
    int source_of(const JudgedSegment& segment);
    void describe_recorder(const JudgedSegment& segment);
    std::vector<double> median_levels() const;
    std::vector<std::vector<double>> median_backgrounds() const;
    std::vector<SeasonMeans> finish_seasons();

    static constexpr int kLevelCells = 2000;  ///< of 0.1 dB from -200 dBFS on
    const Survey& survey_;
    std::vector<TableColumn> columns_;
    ColumnReader reader_;
    const DerivedValues& derived_;
    std::size_t first_derived_ = 0;  ///< their place among the columns
    int l90_ = -1;
    std::vector<double> values_;  ///< of the segment under way
    DateCells hours_, windows_, steps_;
    WindowCells window_cells_;
    std::map<std::string, WindowCells> seasons_;          ///< by name; empty unless several
    std::map<std::pair<std::string, int>, int> sources_;  ///< recorder and channel
    std::vector<std::vector<std::uint32_t>> levels_;      ///< histogram of l90_dbfs by deployment
    StepCounter applied_;
    SiteValues result_;
};

}  // namespace hearwood

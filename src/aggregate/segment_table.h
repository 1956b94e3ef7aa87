// segments.csv as the segments pass.
#pragma once

#include <filesystem>
#include <span>
#include <vector>

#include "aggregate/derived_values.h"
#include "aggregate/judged_segments.h"
#include "aggregate/table_columns.h"
#include "base/progress.h"
#include "base/table.h"

namespace hearwood {

/// A row of segments.csv: one channel of one segment of a recording whose start is known.
struct SegmentLine {
    const JudgedSegment& segment;
    std::span<const double>
        values;  ///< parallel to segment_columns(), then even_columns() where wanted
};
/// The survey must outlive the table.
TableOf<SegmentLine> segments_table(const Survey& survey);

class SegmentTable : public SegmentVisitor {
  public:
    /// `derived` is visited before this.
    SegmentTable(const Survey& survey, const DerivedValues& derived, const JudgedSegments& segments,
                 const std::filesystem::path& file, Progress& progress);
    void segment(const JudgedSegment& segment) override;
    void commit() { file_.commit(); }

  private:
    const Survey& survey_;
    const DerivedValues& derived_;
    Progress& progress_;
    ColumnReader reader_;
    TableFile<SegmentLine> file_;
    std::vector<double> values_;
};

}  // namespace hearwood

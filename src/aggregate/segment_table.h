// segments.csv as the segments pass.
#pragma once

#include <filesystem>
#include <vector>

#include "aggregate/judged_segments.h"
#include "aggregate/table_columns.h"
#include "base/csv_writer.h"
#include "base/progress.h"

namespace hearwood {

class SegmentTable : public SegmentVisitor {
  public:
    SegmentTable(const Survey& survey, const JudgedSegments& segments,
                 const std::filesystem::path& file, Progress& progress);
    void segment(const JudgedSegment& segment) override;
    void commit() { csv_.commit(); }

  private:
    const Survey& survey_;
    const Zone& zone_;
    Progress& progress_;
    std::vector<TableColumn> columns_;
    ColumnReader reader_;
    CsvWriter csv_;
    std::vector<double> values_;
};

}  // namespace hearwood

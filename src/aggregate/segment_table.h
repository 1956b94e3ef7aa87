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

/// A row of recordings.csv: a file found, usable or not.
struct RecordingLine {
    const KnownRecording& recording;
    std::string state;
    std::int64_t segments = 0, kept = 0;
};
TableOf<RecordingLine> recordings_table(const Zone& zone);

class RecordingTable : public SegmentVisitor {
  public:
    RecordingTable(const Zone& zone, const std::filesystem::path& file);
    void begin_recording(const KnownRecording& recording) override;
    void segment(const JudgedSegment& segment) override;
    void end_recording(const KnownRecording& recording) override;
    /// A recording whose deployment the sheet does not name.
    void orphan(const RecordingRow& row, bool row_is_wrong);
    void commit() { file_.commit(); }

    std::size_t recordings() const { return file_.rows(); }
    std::size_t unusable() const { return unusable_; }

  private:
    TableFile<RecordingLine> file_;
    std::int64_t segments_ = 0, kept_ = 0;  ///< of the recording under way
    std::size_t unusable_ = 0;
};

}  // namespace hearwood

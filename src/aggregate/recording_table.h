// recordings.csv as the recordings pass.
#pragma once

#include <filesystem>

#include "aggregate/judged_segments.h"
#include "base/table.h"

namespace hearwood {

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

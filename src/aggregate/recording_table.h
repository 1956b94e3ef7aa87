// recordings.csv as the recordings pass.
#pragma once

#include <filesystem>

#include "aggregate/judged_segments.h"
#include "base/csv_writer.h"

namespace hearwood {

class RecordingTable : public SegmentVisitor {
  public:
    RecordingTable(const Zone& zone, const std::filesystem::path& file);
    void begin_recording(const KnownRecording& recording) override;
    void segment(const JudgedSegment& segment) override;
    void end_recording(const KnownRecording& recording) override;
    /// A recording whose deployment the sheet does not name.
    void stranger(const RecordingRow& row);
    void commit() { csv_.commit(); }

    std::size_t recordings() const { return recordings_; }
    std::size_t troubled() const { return troubled_; }

  private:
    void write(const KnownRecording& recording, const std::string& state);

    Zone zone_;
    CsvWriter csv_;
    std::int64_t segments_ = 0, kept_ = 0;  ///< of the recording under way
    std::size_t recordings_ = 0, troubled_ = 0;
};

}  // namespace hearwood

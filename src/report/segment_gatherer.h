// What pictures and clips need of the segments: where each one stands, in some thirty bytes, so
// that nothing is read twice and 1.7 million segments take about 60 MB.
#pragma once

#include <cstdint>
#include <map>
#include <utility>
#include <vector>

#include "aggregate/judged_segments.h"

namespace hearwood {

struct SegmentPlace {
    std::uint32_t recording = 0;  ///< into SegmentGatherer::recordings
    std::uint32_t segment = 0;
    std::uint16_t channel = 0;
    std::int16_t window = -1;        ///< into Survey::windows
    bool kept = false;               ///< no screen excludes it
    bool averaged = false;           ///< kept and complete
    bool flagged = false;            ///< by any screen, also by one that does not exclude
    float from_min = 0, to_min = 0;  ///< minutes of the local date
    double value = 0;                ///< of the index that clips are chosen by; NaN: missing
};

struct GatheredRecording {
    std::int64_t id = 0;
    std::string path;       ///< as in the store
    int sample_rate = 0;    ///< of the file
    int measured_rate = 0;  ///< of its kept spectra
};

class SegmentGatherer : public SegmentVisitor {
  public:
    /// `value_column`: index of the chosen index among the stored columns; -1: none.
    explicit SegmentGatherer(int value_column) : value_column_(value_column) {}
    void begin_recording(const KnownRecording& recording) override;
    void segment(const JudgedSegment& segment) override;

    using SiteDate = std::pair<std::size_t, Date>;
    /// Of each site and local date, in the order of visiting.
    std::map<SiteDate, std::vector<SegmentPlace>> days;
    std::vector<GatheredRecording> recordings;

  private:
    int value_column_;
};

}  // namespace hearwood

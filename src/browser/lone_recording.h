// One recording measured by itself, without a survey: the work of the page that measures
// (web/measure.js). Numbers are those of segments.csv; what only a survey knows is missing.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "measure/recording_facts.h"
#include "measure/segment_measurer.h"
#include "store/recording_row.h"
#include "survey/survey.h"

namespace hearwood {

/// The header of segments.csv of a survey with every setting at its default.
std::string lone_segments_header();

class LoneRecording {
  public:
    /// `name`: what the table calls it, and where a start time is looked for. Never throws for what
    /// is in the file.
    LoneRecording(std::filesystem::path path, const std::string& name);

    /// The segments of the recording; 0 when nothing of it can be measured.
    std::int64_t segments() const { return segments_; }
    std::int64_t done() const { return next_; }
    /// The next segment. REQUIRES: done() < segments().
    void measure_next();

    /// JSON: name, state ("measured", "damaged", "unreadable", "no start time"), reason, start,
    /// rate, channels, bits, format, seconds, lost_s, clipped (greatest share of clipped samples of
    /// a segment, null before one is measured).
    std::string facts() const;
    /// The lines of segments.csv of what is measured so far, a channel of a segment each. The rain
    /// screen sees the neighbours within this recording alone.
    std::string lines() const;

  private:
    static Survey& defaults();
    std::filesystem::path path_;
    RecordingRow row_;
    std::optional<OpenRecording> file_;
    std::vector<Damage> damages_;
    SegmentMeasurer measurer_;
    Losses losses_;
    std::vector<SegmentRow> rows_;
    std::int64_t segments_ = 0, next_ = 0;
};

}  // namespace hearwood

// Values of a segment that are not in its row: what depends on the choirs of its site and window,
// and what was measured once more on even terms.
#pragma once

#include <map>
#include <span>
#include <tuple>
#include <utility>
#include <vector>

#include "aggregate/even_terms.h"
#include "aggregate/judged_segments.h"
#include "aggregate/site_sounds.h"
#include "store/store.h"

namespace hearwood {

/// Stands before whoever reads it in the list of visitors.
class DerivedValues : public SegmentVisitor {
  public:
    /// Goes through the segments once.
    DerivedValues(const Survey& survey, const Store& store, const JudgedSegments& segments);

    void begin_recording(const KnownRecording& recording) override;
    void segment(const JudgedSegment& segment) override;
    /// Of the segment that passes: parallel to derived_columns(survey); NaN: missing, as all are of
    /// a segment that is not averaged.
    const std::vector<double>& values() const { return values_; }

    const EvenTerms& terms() const { return terms_; }
    /// What the kept segments' sounds came to.
    const SiteSounds& of_sites() const { return of_sites_; }
    /// Segments so far that should have values on even terms and have none that are of
    /// the terms now.
    std::size_t old_even() const { return old_even_; }

  private:
    void read_solo(const JudgedSegment& segment);
    void read_even(const JudgedSegment& segment);

    const Survey& survey_;
    const Store& store_;
    SiteSounds of_sites_;
    EvenTerms terms_;
    std::map<SiteSounds::Place, EventBands> choirs_;
    std::map<std::tuple<std::size_t, int, std::size_t>, std::int64_t> fingerprints_;
    RecordingSounds sounds_;
    std::map<std::pair<int, int>, EvenRow> even_;  ///< of the recording, by channel, segment
    std::vector<double> values_;
    std::size_t old_even_ = 0;
};

/// Those of the derived values that a row of segments.csv has: on even terms.
std::span<const double> even_part(std::span<const double> derived);

}  // namespace hearwood

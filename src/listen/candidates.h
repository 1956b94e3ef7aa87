// The segments that a listening sheet or a planting can draw from, handed out one by one as they
// stand in the store: none is held, so that memory does not grow with the survey.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <span>
#include <string>

#include "aggregate/judged_segments.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// A complete segment that could be drawn.
struct Candidate {
    std::int64_t recording = 0;  ///< id in the store
    int channel = 0, segment = 0;
    std::int64_t first_sample = 0, samples = 0;
    std::size_t site = 0;
    int window = -1;
    double index = 0;  ///< value of the stratifying index
    double leq_dbfs = 0;
    bool kept = false;
    Reasons flags;
    /// Of the recording's path, the channel and the segment: lots are drawn by it, so that they do
    /// not depend on the order of anything.
    std::uint64_t name = 0;
};

using CandidateTaker = std::function<void(const Candidate&)>;
/// Hands every candidate to the taker, each time it is called, in any order.
using CandidateSource = std::function<void(const CandidateTaker&)>;

/// Every complete segment inside its deployment that is neither dead nor clipped and has a value of
/// the index and a window: kept ones, and those that weather or engines excluded.
class ListeningCandidates {
  public:
    /// `index` is a stored column. Errors: as JudgedSegments; InputError for an index that is not
    /// there, naming the nearest.
    ListeningCandidates(const Survey& survey, const Store& store, const std::string& index);

    /// A pass over the store.
    void operator()(const CandidateTaker& take) const;

  private:
    JudgedSegments segments_;
    std::size_t index_, leq_;
};

/// The rows of the recordings that these segments come from, by id.
std::map<std::int64_t, RecordingRow> recordings_of(std::span<const Candidate> segments,
                                                   const Store& store);

}  // namespace hearwood

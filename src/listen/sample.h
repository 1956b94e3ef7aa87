// Which segments are listened to: a random sample stratified by site, window and low, middle or
// high index, with the weight of every clip, so that what is heard can be carried back to all
// segments (docs/listening.md).
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

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
};

/// Every complete segment inside its deployment that is neither dead nor clipped and has a value of
/// the index and a window: kept ones, and those that weather or engines excluded. `index` is a
/// stored column. Errors: as JudgedSegments; InputError for an index that is not there, naming the
/// nearest.
std::vector<Candidate> listening_candidates(const Survey& survey, const Store& store,
                                            const std::string& index);

struct DrawnClip {
    Candidate segment;
    int third =
        0;  ///< 0 low, 1 middle, 2 high third of its site and window; -1: drawn for the screens
    double weight = 1;  ///< how many segments it stands for
};

/// `count` clips of kept segments: shared out evenly over sites, then over the site's windows and
/// thirds in random rotation; a clip's weight is the segments of its stratum over the expected
/// number drawn from it. No segment twice. Then up to `screened` clips of segments that rain, wind
/// or engine excluded. The same candidates and seed give the same sample.
std::vector<DrawnClip> draw_sample(const std::vector<Candidate>& candidates, int count,
                                   int screened, std::uint64_t seed);

}  // namespace hearwood

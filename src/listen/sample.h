// Which segments are listened to: a random sample stratified by site, window and low, middle or
// high index, with the weight of every clip, so that what is heard can be carried back to all
// segments (docs/listening.md).
//
// Two passes over the candidates: the first counts them and finds where the thirds of each site and
// window lie, the second draws. Each candidate has two lots, numbers that follow from the seed and
// its name alone; the lowest are drawn (a simple random sample of each stratum). Memory grows with
// sites, windows and clips, not with segments, and no output depends on the order of the store.
#pragma once

#include <cstdint>
#include <vector>

#include "listen/candidates.h"

namespace hearwood {

struct DrawnClip {
    Candidate segment;
    int third =
        0;  ///< 0 low, 1 middle, 2 high third of its site and window; -1: drawn for the screens
    double weight = 1;  ///< how many segments it stands for
};

/// Up to so many segments of a site and window decide where its thirds lie: all of them in most
/// surveys, else a random sample, so that a third holds a few percent more or less than a third.
/// The weights count the segments themselves.
inline constexpr std::size_t kRankedSegments = 2048;

/// `count` clips of kept segments: shared out evenly over sites, then over the site's windows and
/// thirds in random rotation; a clip's weight is the segments of its stratum over the expected
/// number drawn from it. No segment twice. Then up to `screened` clips of segments that rain, wind
/// or engine excluded. The same candidates and seed give the same sample, in the same order.
std::vector<DrawnClip> draw_sample(const CandidateSource& candidates, int count, int screened,
                                   std::uint64_t seed);

}  // namespace hearwood

// Where the segments of a recording lie (docs/measures.md, section 1). Counted from 0; samples per
// channel.
#pragma once

#include <algorithm>
#include <cstdint>

namespace hearwood {

struct SegmentLayout {
    std::int64_t frames;           ///< of the recording: samples per channel
    std::int64_t segment_samples;  ///< S
    std::int64_t shortest;         ///< one frame of the transform: less is not measured

    /// Whole segments, and the shorter last one when it holds at least one frame.
    std::int64_t count() const {
        return frames / segment_samples + (frames % segment_samples >= shortest ? 1 : 0);
    }
    std::int64_t first_sample(std::int64_t segment) const { return segment * segment_samples; }
    std::int64_t samples(std::int64_t segment) const {
        return std::min(segment_samples, frames - first_sample(segment));
    }
};

}  // namespace hearwood

// Finds plays of the trial's sound in a recording and measures how loud each band arrived.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "activity/chirp_filter.h"
#include "activity/trial_sound.h"
#include "base/missing.h"

namespace hearwood {

struct TrialPlay {
    double start_s = 0;  ///< of its first chirp, from the sound's first sample; may be negative
    double score = 0;    ///< how far the chirps stand out: see trial_search.cpp
};

/// One band of a play.
struct ReceivedBand {
    double level_db = kMissing;  ///< amplitude of the chirps; 0: a sine at full scale
    double se_db = kMissing;     ///< standard error of that, from chirp to chirp
    int chirps = 0;              ///< that stand out from the noise
    std::string why;             ///< why there is no level; empty when there is
};
using ReceivedBands = std::array<ReceivedBand, kTrialBands.size()>;

/// One channel of a sound: fills the span with the samples from `from` on; false when they cannot
/// be read.
using ReadSamples = std::function<bool(std::int64_t from, std::span<float> samples)>;

/// One thread's work. `samples` is how many the sound has; none beyond is asked for.
class TrialSearch {
  public:
    explicit TrialSearch(double sample_rate);

    /// By time; plays do not overlap. Those cut off by an end of the sound are found
    /// while two chirps of every band are there. Stops where the sound cannot be read.
    std::vector<TrialPlay> find(const ReadSamples& read, std::int64_t samples);
    ReceivedBands measure(const ReadSamples& read, std::int64_t samples, const TrialPlay& play);

  private:
    using Track = std::vector<float>;  ///< a value a moment of 2 ms
    struct Heard;
    std::array<Track, kTrialBands.size()> tracks(const ReadSamples& read, std::int64_t samples);
    bool load(const ReadSamples& read, std::int64_t samples, std::int64_t from);
    double energy(std::size_t band, double from_s) const;
    void hear(const ReadSamples& read, std::int64_t samples, std::int64_t begin, std::size_t band,
              Heard& heard);
    ReceivedBand judge(std::size_t band, Heard heard) const;

    double sample_rate_;
    ChirpFilter filter_;
    std::vector<float> block_;
    std::array<double, kTrialBands.size()> whole_{};  ///< energy() of a chirp of amplitude 1
};

}  // namespace hearwood

// Stationary Gaussian noise of a given background: what a quiet site is heard through.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "index/sound_event.h"

namespace hearwood {

class NoiseBed {
  public:
    /// `band_db`: the background that the noise is to have, per band of 250 Hz, in dB of A^2
    /// (index/sound_event.h); between the bands' centres its power is linear, beyond the outer ones
    /// constant. -infinity: none. Some minutes long, at least twice `longest` samples; it goes on
    /// from its end at its beginning without a seam. The same seed gives the same noise.
    NoiseBed(std::span<const double> band_db, double sample_rate, std::int64_t longest,
             const std::string& seed);

    /// The stretch that belongs to a name (a segment's own), from its sample `from` on: added to
    /// `samples` times `factor`.
    void add(std::uint64_t name, std::int64_t from, float factor, std::span<float> samples) const;
    /// No band asks for any.
    bool silent() const { return samples_.empty(); }

    /// The first 64 bits of a text's SHA-256.
    static std::uint64_t number_of(const std::string& text);

  private:
    std::vector<float> samples_;
};

}  // namespace hearwood

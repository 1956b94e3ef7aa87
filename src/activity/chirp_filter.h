// Matched filters for the chirps of the trial: how loud each band's chirp is, wherever it might
// begin.
#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "spectrum/fftw_plan.h"

namespace hearwood {

/// One thread's work. A block of `block()` samples goes in; out comes, for every band that the
/// sample rate holds, the squared amplitude of a chirp that begins at each of the first `lags()`
/// samples, on a grid of `step(band)` samples: 1 where there is one of amplitude 1.
class ChirpFilter {
  public:
    explicit ChirpFilter(double sample_rate);

    /// Bands of kTrialBands whose upper edge lies below half the sample rate.
    std::size_t bands() const { return bands_.size(); }
    std::size_t block() const { return block_; }
    /// A multiple of every band's step.
    std::size_t lags() const { return lags_; }
    std::size_t step(std::size_t band) const { return block_ / bands_[band].points; }
    std::size_t chirp_samples() const { return chirp_; }

    /// Fewer samples than block() are followed by silence.
    void filter(std::span<const float> samples);
    /// Of the last block: power(band)[i] belongs to a chirp that begins at sample i * step(band).
    std::span<const float> power(std::size_t band) const;

  private:
    struct Band {
        std::size_t first = 0, count = 0;  ///< bins of the block's transform
        std::size_t points = 0;            ///< of the inverse transform: a power of two
        std::vector<float> chirp;          ///< its spectrum at these bins, scaled
        FftwBuffer<float> lines, out;
        std::unique_ptr<ComplexPlan> plan;
        std::vector<float> power;
    };
    void prepare(std::size_t band, double sample_rate);

    std::size_t chirp_, block_, lags_ = 0;
    FftwBuffer<float> samples_, spectrum_;
    std::unique_ptr<RealPlan> plan_;
    std::vector<Band> bands_;
};

}  // namespace hearwood

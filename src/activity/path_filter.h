// A linear-phase filter that weakens sound as a denser stand would: what makes the path of an open
// site that of the densest (docs/even.md).
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "spectrum/fftw_plan.h"

namespace hearwood {

/// What a filter does, shared by all who filter.
class PathFilter {
  public:
    /// `weakening_db` at a frequency in Hz: how much is taken off. The filter is 20 ms long, so
    /// that it follows changes over more than about 100 Hz.
    PathFilter(const std::function<double(double hz)>& weakening_db, double sample_rate);

    /// Samples of sound that it needs before and after each sample that it gives.
    std::size_t reach() const { return reach_; }
    /// Samples that one step takes in, and that it gives: reach() fewer at either end.
    std::size_t block() const { return block_; }
    std::size_t gives() const { return block_ - 2 * reach_; }
    /// 2 (block() / 2 + 1) numbers: the spectrum, scaled for a transform and back.
    std::span<const float> spectrum() const { return spectrum_; }

  private:
    std::size_t reach_, block_;
    std::vector<float> spectrum_;
};

/// One thread's work with any number of filters of one sample rate.
class PathFilterer {
  public:
    /// In: block() samples; out: gives() samples, the first for in[reach()].
    std::span<const float> apply(const PathFilter& filter, std::span<const float> in);

  private:
    void prepare(std::size_t block);

    std::size_t block_ = 0;
    FftwBuffer<float> samples_, lines_;
    std::unique_ptr<RealPlan> forth_;
    std::unique_ptr<InverseRealPlan> back_;
};

}  // namespace hearwood

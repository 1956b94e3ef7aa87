// What a segment's samples say without any spectrum: mean, mean square, peak and clipping.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <span>
#include <type_traits>

#include "index/engine/clipping.h"
#include "index/engine/kernels.h"
#include "index/segment_summary.h"

namespace hearwood {

/// What a sample of type T is divided by to come to [-1, 1).
template <typename T>
constexpr double unit_of() {
    if constexpr (std::is_integral_v<T>)
        return -static_cast<double>(std::numeric_limits<T>::min());
    else
        return 1;
}

class SampleLevels {
  public:
    void begin() {
        sum_ = squares_ = peak_ = 0;
        finite_ = true;
        clipping_.begin();
    }

    /// Before the first samples, once their type is known. `bits` as SegmentAnalyser::begin has it.
    template <typename T>
    void expect(int bits) {
        clipped_from_ = clipping_level<T>(bits);
    }

    /// Samples that follow on those before, each seen once; their sums were made on the way.
    template <typename T>
    void add(const T* x, int count, const SampleSums& sums) {
        constexpr double unit = unit_of<T>();
        sum_ += sums.sum / unit;
        squares_ += sums.squares / (unit * unit);
        peak_ = std::max(peak_, sums.peak / unit);
        if (!(sums.squares / (unit * unit) < kMostSample * kMostSample)) finite_ = false;
        if (sums.peak >= clipped_from_) {
            clipping_.add(std::span<const T>(x, count), clipped_from_);
        } else {
            clipping_.add_unclipped();
        }
    }

    /// The samples after the last whole frame: they count for the levels, not for the spectra.
    template <typename T>
    void add_rest(std::span<const T> samples) {
        if (samples.empty()) return;
        SampleSums sums;
        for (const T sample : samples) {
            const auto x = static_cast<double>(sample);
            sums.sum += x;
            sums.squares += x * x;
            sums.peak = std::max(sums.peak, std::abs(x));
        }
        add(samples.data(), static_cast<int>(samples.size()), sums);
    }

    /// REQUIRES: summary.samples is the number of samples added.
    void finish(SegmentSummary& summary) const {
        const double samples = static_cast<double>(std::max<std::int64_t>(summary.samples, 1));
        summary.mean_square = squares_ / samples;
        summary.mean = sum_ / samples;
        summary.peak = peak_;
        summary.clipped = clipping_.clipped();
        summary.finite = finite_;
    }

  private:
    static constexpr double kMostSample = 1e15;  ///< beyond, a square no longer fits a float

    double sum_ = 0, squares_ = 0, peak_ = 0;  ///< samples in [-1, 1)
    double clipped_from_ = 1;                  ///< in units of the samples' type
    bool finite_ = true;
    ClippingCounter clipping_;
};

}  // namespace hearwood

// Counts samples in runs of two or more at the top or bottom code (docs/measures.md,
// clipped_fraction).
#pragma once

#include <cstdint>
#include <limits>
#include <span>
#include <type_traits>

namespace hearwood {

/// The least abs x that counts as clipped, in units of T: for integers of `bits` bits justified to
/// the left (0: the width of T) the top code, whose mirror image and the bottom code one further
/// down both count; for floating point 1, or the top code of a file of `bits` bits.
template <typename T>
double clipping_level(int bits) {
    if constexpr (std::is_integral_v<T>) {
        constexpr int width = std::numeric_limits<T>::digits + 1;
        const int depth = bits > 0 && bits < width ? bits : width;
        return static_cast<double>((std::int64_t{1} << (width - 1)) -
                                   (std::int64_t{1} << (width - depth)));
    } else {
        return bits > 0 ? 1 - 1 / static_cast<double>(std::int64_t{1} << (bits - 1)) : 1;
    }
}

class ClippingCounter {
  public:
    void begin() { run_ = clipped_ = 0; }

    /// Samples that follow on those before, with one at the level at least.
    template <typename T>
    void add(std::span<const T> samples, double level) {
        for (const T sample : samples) {
            const auto x = static_cast<double>(sample);
            if (x >= level || x <= -level) {
                ++run_;
                if (run_ >= 2) clipped_ += run_ == 2 ? 2 : 1;
            } else {
                run_ = 0;
            }
        }
    }

    /// Samples that follow on those before, all of them below the level.
    void add_unclipped() { run_ = 0; }

    std::int64_t clipped() const { return clipped_; }

  private:
    std::int64_t run_ = 0, clipped_ = 0;
};

}  // namespace hearwood

// The lower tenth of every column of a group's cells, by counting: how many cells of a column lie
// below a limit is cheap to ask for all columns at once, sorting is not.
//
// The answer is that of a histogram with steps of 8 cells (0.094 dB), linear inside the step; which
// questions were asked on the way does not matter to it. A sample of the frames says where to look
// first.
#pragma once

#include <array>
#include <cstdint>

#include "index/kernels.h"

namespace hearwood {

constexpr int kQuantileShift = 3;  ///< 8 cells to a step
constexpr int kQuantileSteps = (kCellMax >> kQuantileShift) + 1;

/// Where in a histogram the value of rank floor(0.1 M) among M (sorted, from 0) lies, in cells:
/// step, counted from the step's lower border, `below` values under it, `inside` values in it.
double quantile_cell(int step, std::int64_t rank, std::int64_t below, std::int64_t inside);

class QuantileSearch {
  public:
    /// `rows` rows of 2 L cells. REQUIRES: rows >= 1.
    QuantileSearch(const Kernels& kernels, const std::int16_t* cells, int rows);

    void run();
    /// False when the column's quantile is zero power.
    bool has_background(int column) const { return low_[column] > 0; }
    /// The quantile, as a fractional cell.
    double quantile(int column) const;

  private:
    static constexpr int kMostColumns = 2 * kMostLanes;
    using Steps = std::array<int, kMostColumns>;

    void search_sample(int every);
    void split();
    void surround(const Steps& at, int reach);
    void interpolate();
    void ask(int rows, int every);
    bool found(int width) const;

    const Kernels& kernels_;
    const std::int16_t* cells_;
    int rows_, columns_;
    int rank_;
    // The quantile's step is in [low, high): so many cells are below these borders.
    Steps low_, high_, below_low_, below_high_;
    std::array<Steps, kSearchLimits> probes_;
};

}  // namespace hearwood

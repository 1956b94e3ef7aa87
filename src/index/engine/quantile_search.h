// The lower tenth of every column of a group's cells, by counting: how many cells of a column lie
// below a limit is cheap to ask for all columns at once, sorting is not.
//
// Up to kExactRows frames the answer is the cell of the value itself (0.012 dB). For longer
// segments it is that of a histogram with steps of 8 cells (0.094 dB), linear inside the step, and
// a sample of the frames says where to look first. Which questions were asked on the way does not
// matter to the answer.
#pragma once

#include <array>
#include <cstdint>

#include "index/engine/kernels.h"

namespace hearwood {

constexpr int kQuantileStep = 8;  ///< cells
constexpr int kQuantileSteps = (kCellMax + 1) / kQuantileStep;

/// Where the value of rank floor(0.1 M) among M (sorted, from 0) lies, in cells, when `below`
/// values are under the cell `low` and `inside` values in the `width` cells from there.
double quantile_cell(int low, int width, std::int64_t rank, std::int64_t below,
                     std::int64_t inside);

class QuantileSearch {
  public:
    static constexpr int kExactRows = 1400;

    /// `rows` rows of 2 L cells. REQUIRES: rows >= 1.
    QuantileSearch(const Kernels& kernels, const std::int16_t* cells, int rows);

    void run();
    /// False when the column's quantile is zero power.
    bool has_background(int column) const { return low_[column] > 0; }
    /// The quantile, as a fractional cell.
    double quantile(int column) const;
    /// The cells [low, high) that hold it, and how many rows are below and inside them.
    struct Bracket {
        int low, high, below, inside;
    };
    Bracket bracket(int column) const {
        return {low_[column], high_[column], below_low_[column],
                below_high_[column] - below_low_[column]};
    }

  private:
    static constexpr int kMostColumns = 2 * kMostLanes;
    using PerColumn = std::array<int, kMostColumns>;

    void start(int rows);
    PerColumn search_sample();
    void split();
    void surround(const PerColumn& at, int reach);
    void interpolate();
    void ask(int rows, int every);
    bool found(int width) const;

    const Kernels& kernels_;
    const std::int16_t* cells_;
    int rows_, columns_;
    int rank_ = 0;
    int step_;  ///< the answer's width, in cells; brackets begin and end at multiples of it
    // The quantile lies in the cells [low, high); so many cells are below these borders.
    PerColumn low_, high_, below_low_, below_high_;
    std::array<PerColumn, kSearchLimits> probes_;
};

}  // namespace hearwood

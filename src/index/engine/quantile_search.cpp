#include "index/engine/quantile_search.h"

#include <algorithm>

namespace hearwood {
namespace {

constexpr int kSampleRows = 350;
/// A sample's tenth quantile strays from that of all by 1.6 % of the rank at 350 frames; in
/// stationary noise that is 0.65 dB.
constexpr int kSampleError = 7 * kQuantileStep;
constexpr int kCells = kCellMax + 1;

}  // namespace

double quantile_cell(int low, int width, std::int64_t rank, std::int64_t below,
                     std::int64_t inside) {
    const double share = (static_cast<double>(rank - below) + 0.5) / static_cast<double>(inside);
    return low + share * width;
}

QuantileSearch::QuantileSearch(const Kernels& kernels, const std::int16_t* cells, int rows)
    : kernels_(kernels),
      cells_(cells),
      rows_(rows),
      columns_(2 * kernels.lanes),
      step_(rows <= kExactRows ? 1 : kQuantileStep) {}

double QuantileSearch::quantile(int column) const {
    return quantile_cell(low_[column], step_, rank_, below_low_[column],
                         below_high_[column] - below_low_[column]);
}

void QuantileSearch::run() {
    if (rows_ <= kExactRows) {
        start(rows_);
        while (!found(step_)) {
            split();
            ask(rows_, 1);
        }
        return;
    }
    const PerColumn guess = search_sample();
    start(rows_);
    surround(guess, kSampleError);
    ask(rows_, 1);
    for (int round = 0; !found(step_); ++round) {
        round < 3 ? interpolate() : split();
        ask(rows_, 1);
    }
}

/// Brackets that hold everything.
void QuantileSearch::start(int rows) {
    rank_ = rows / 10;
    low_.fill(0);
    high_.fill(kCells);
    below_low_.fill(0);
    below_high_.fill(rows);
}

/// The quantile among every n-th row, to within a few steps.
QuantileSearch::PerColumn QuantileSearch::search_sample() {
    const int every = rows_ / kSampleRows;
    const int rows = (rows_ - 1) / every + 1;
    start(rows);
    while (!found(3 * step_)) {
        split();
        ask(rows, every);
    }
    return low_;
}

/// Probes that cut every bracket into equal parts.
void QuantileSearch::split() {
    for (int n = 0; n < kSearchLimits; ++n) {
        for (int i = 0; i < columns_; ++i) {
            probes_[n][i] =
                low_[i] + (high_[i] - low_[i]) / step_ * (n + 1) / (kSearchLimits + 1) * step_;
        }
    }
    // A bracket of few steps has fewer inner borders than probes: its last inner border must be
    // among them.
    for (int i = 0; i < columns_; ++i) {
        if (high_[i] - low_[i] > step_ && probes_.back()[i] == low_[i]) probes_.back()[i] += step_;
    }
}

/// Probes at -3, -1, +1 and +3 times `reach` around a guess.
void QuantileSearch::surround(const PerColumn& at, int reach) {
    for (int n = 0; n < kSearchLimits; ++n) {
        for (int i = 0; i < columns_; ++i)
            probes_[n][i] = at[i] + (2 * n + 1 - kSearchLimits) * reach;
    }
}

/// Probes in the four borders nearest to where the rank falls between the bracket's ends.
void QuantileSearch::interpolate() {
    for (int i = 0; i < columns_; ++i) {
        const double share = (rank_ - below_low_[i] + 0.5) / (below_high_[i] - below_low_[i]);
        const int guess = low_[i] + static_cast<int>(share * (high_[i] - low_[i]) / step_) * step_;
        const int last_first = std::max(high_[i] - kSearchLimits * step_, low_[i] + step_);
        const int first = std::clamp(guess - step_, low_[i] + step_, last_first);
        for (int n = 0; n < kSearchLimits; ++n) probes_[n][i] = first + n * step_;
    }
}

/// Counts at the probes and narrows the brackets.
void QuantileSearch::ask(int rows, int every) {
    std::int16_t limits[kSearchLimits * kMostColumns];
    std::int32_t counts[kSearchLimits * kMostColumns];
    for (int n = 0; n < kSearchLimits; ++n) {
        for (int i = 0; i < columns_; ++i) {
            probes_[n][i] = std::clamp(probes_[n][i], 0, kCells - step_);
            limits[n * columns_ + i] = static_cast<std::int16_t>(probes_[n][i]);
        }
    }
    kernels_.count_below_search(cells_, rows, every, limits, counts);
    for (int n = 0; n < kSearchLimits; ++n) {
        for (int i = 0; i < columns_; ++i) {
            const int below = counts[n * columns_ + i];
            if (below <= rank_ && probes_[n][i] > low_[i]) {
                low_[i] = probes_[n][i];
                below_low_[i] = below;
            } else if (below > rank_ && probes_[n][i] < high_[i]) {
                high_[i] = probes_[n][i];
                below_high_[i] = below;
            }
        }
    }
}

bool QuantileSearch::found(int width) const {
    for (int i = 0; i < columns_; ++i) {
        if (high_[i] - low_[i] > width) return false;
    }
    return true;
}

}  // namespace hearwood

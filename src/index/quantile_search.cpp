#include "index/quantile_search.h"

#include <algorithm>

namespace hearwood {
namespace {

constexpr int kSampleRows = 350;
/// A sample's tenth quantile strays from that of all by 1.6 % of the rank at 350 frames; in
/// stationary noise that is 0.65 dB, 7 steps.
constexpr int kSampleError = 7;

}  // namespace

double quantile_cell(int step, std::int64_t rank, std::int64_t below, std::int64_t inside) {
    const double share = (static_cast<double>(rank - below) + 0.5) / static_cast<double>(inside);
    return (step + share) * (1 << kQuantileShift);
}

QuantileSearch::QuantileSearch(const Kernels& kernels, const std::int16_t* cells, int rows)
    : kernels_(kernels),
      cells_(cells),
      rows_(rows),
      columns_(2 * kernels.lanes),
      rank_(rows / 10) {}

double QuantileSearch::quantile(int column) const {
    return quantile_cell(low_[column], rank_, below_low_[column],
                         below_high_[column] - below_low_[column]);
}

void QuantileSearch::run() {
    const int every = std::max(rows_ / kSampleRows, 1);
    search_sample(every);
    if (every == 1) return;
    const Steps guess = low_;
    rank_ = rows_ / 10;
    low_.fill(0);
    high_.fill(kQuantileSteps);
    below_low_.fill(0);
    below_high_.fill(rows_);
    surround(guess, kSampleError);
    ask(rows_, 1);
    for (int round = 0; !found(1); ++round) {
        round < 3 ? interpolate() : split();
        ask(rows_, 1);
    }
}

/// The quantile among every `every`-th row, to within a few steps unless that is all rows.
void QuantileSearch::search_sample(int every) {
    const int rows = (rows_ - 1) / every + 1;
    rank_ = rows / 10;
    low_.fill(0);
    high_.fill(kQuantileSteps);
    below_low_.fill(0);
    below_high_.fill(rows);
    while (!found(every == 1 ? 1 : 3)) {
        split();
        ask(rows, every);
    }
}

/// Probes that cut every bracket into equal parts.
void QuantileSearch::split() {
    for (int n = 0; n < kSearchLimits; ++n) {
        for (int i = 0; i < columns_; ++i) {
            probes_[n][i] = low_[i] + (high_[i] - low_[i]) * (n + 1) / (kSearchLimits + 1);
        }
    }
}

/// Probes at -3, -1, +1 and +3 times `reach` around a guess.
void QuantileSearch::surround(const Steps& at, int reach) {
    for (int n = 0; n < kSearchLimits; ++n) {
        for (int i = 0; i < columns_; ++i)
            probes_[n][i] = at[i] + (2 * n + 1 - kSearchLimits) * reach;
    }
}

/// Probes in the four borders nearest to where the rank falls between the bracket's ends.
void QuantileSearch::interpolate() {
    for (int i = 0; i < columns_; ++i) {
        const double share = (rank_ - below_low_[i] + 0.5) / (below_high_[i] - below_low_[i]);
        const int guess = low_[i] + static_cast<int>(share * (high_[i] - low_[i]));
        const int first =
            std::clamp(guess - 1, low_[i] + 1, std::max(high_[i] - kSearchLimits, low_[i] + 1));
        for (int n = 0; n < kSearchLimits; ++n) probes_[n][i] = first + n;
    }
}

/// Counts at the probes and narrows the brackets.
void QuantileSearch::ask(int rows, int every) {
    std::int16_t limits[kSearchLimits * kMostColumns];
    std::int32_t counts[kSearchLimits * kMostColumns];
    for (int n = 0; n < kSearchLimits; ++n) {
        for (int i = 0; i < columns_; ++i) {
            probes_[n][i] = std::clamp(probes_[n][i], 0, kQuantileSteps - 1);
            limits[n * columns_ + i] = static_cast<std::int16_t>(probes_[n][i] << kQuantileShift);
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

#include "index/background.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace hearwood {
namespace {

constexpr int kHistogramShift = 3;  // 8 cells, 0.094 dB, to a step
constexpr int kHistogramSteps = (kCellMax >> kHistogramShift) + 1;

/// Rank of the tenth quantile among M sorted values, from 0: floor(0.1 M).
std::int64_t tenth(std::int64_t frames) {
    return frames / 10;
}

/// The cell from which on a power stands out of a background whose quantile lies between the cells
/// `from` and `to` (exclusive): the middle's power, over -ln 0.9 for the mean of exponentially
/// distributed noise, times 10^0.6 for 6 dB, rounded to the nearest border between cells.
int standout_limit(int from, int to) {
    static const double factor = std::pow(10.0, 0.6) / -std::log(0.9);
    const double middle = (static_cast<double>(std::bit_cast<float>(from << kCellShift)) +
                           static_cast<double>(std::bit_cast<float>(to << kCellShift))) /
                          2;
    const auto bits = std::bit_cast<std::int32_t>(static_cast<float>(middle * factor));
    return std::min((bits + (1 << (kCellShift - 1))) >> kCellShift, kCellMax);
}

}  // namespace

Background::Background(const Kernels& kernels, int groups, std::int64_t frames, int batch)
    : kernels_(kernels), groups_(groups), row_(2 * kernels.lanes) {
    const std::int64_t frame_bytes = static_cast<std::int64_t>(groups) * row_ * 2;
    const std::int64_t most = std::max<std::int64_t>(kMostBytes / frame_bytes, batch);
    capacity_ = static_cast<int>(std::min(std::max<std::int64_t>(frames, 1), most));
    cells_.resize(static_cast<std::size_t>(capacity_) * groups * row_);
    if (frames > capacity_) {
        histograms_.resize(static_cast<std::size_t>(groups) * row_ * kHistogramSteps);
    }
}

void Background::begin() {
    held_ = 0;
    poured_ = 0;
    std::fill(histograms_.begin(), histograms_.end(), 0);
}

std::int16_t* Background::next_rows(int frames) {
    if (held_ + frames > capacity_) pour();
    std::int16_t* rows = cells_.data() + static_cast<std::size_t>(held_) * row_;
    held_ += frames;
    return rows;
}

void Background::pour() {
    for (int group = 0; group < groups_; ++group) {
        const std::int16_t* cell = cells_.data() + cell_stride() * group;
        std::uint32_t* histogram =
            histograms_.data() + static_cast<std::size_t>(group) * row_ * kHistogramSteps;
        for (int frame = 0; frame < held_; ++frame) {
            for (int i = 0; i < row_; ++i) {
                ++histogram[i * kHistogramSteps + (*cell++ >> kHistogramShift)];
            }
        }
    }
    poured_ += held_;
    held_ = 0;
}

void Background::finish(std::vector<std::uint32_t>& standout,
                        std::vector<std::uint8_t>& has_background) {
    if (poured_ == 0) {
        for (int group = 0; group < groups_; ++group) count_group(group, standout, has_background);
        return;
    }
    pour();
    for (int column = 0; column < groups_ * row_; ++column)
        count_histogram(column, standout, has_background);
}

void Background::count_group(int group, std::vector<std::uint32_t>& standout,
                             std::vector<std::uint8_t>& has) {
    const std::int16_t* cells = cells_.data() + cell_stride() * group;
    constexpr int kMostRow = 16;
    std::int16_t low[kMostRow], high[kMostRow], limit[kMostRow];
    std::int32_t below[kMostRow];
    // Bisection, all columns at once: the quantile's cell lies in [low, high).
    std::fill_n(low, row_, std::int16_t{0});
    std::fill_n(high, row_, std::int16_t{kCellMax});
    const std::int64_t rank = tenth(held_);
    for (int bit = 14; bit >= 0; --bit) {
        for (int i = 0; i < row_; ++i)
            limit[i] = static_cast<std::int16_t>((low[i] + high[i] + 1) / 2);
        kernels_.count_below(cells, held_, limit, below);
        for (int i = 0; i < row_; ++i) (below[i] > rank ? high : low)[i] = limit[i];
    }
    for (int i = 0; i < row_; ++i)
        limit[i] = static_cast<std::int16_t>(standout_limit(low[i], low[i] + 1));
    kernels_.count_below(cells, held_, limit, below);
    for (int i = 0; i < row_; ++i) {
        const int slot = group * row_ + kernels_.cell_order[i];
        has[slot] = low[i] > 0;
        standout[slot] = has[slot] ? static_cast<std::uint32_t>(held_ - below[i]) : 0;
    }
}

void Background::count_histogram(int column, std::vector<std::uint32_t>& standout,
                                 std::vector<std::uint8_t>& has) const {
    const std::uint32_t* histogram =
        histograms_.data() + static_cast<std::size_t>(column) * kHistogramSteps;
    const std::int64_t rank = tenth(poured_);
    std::int64_t below = 0;
    int step = 0;
    while (below + histogram[step] <= rank) below += histogram[step++];
    const int slot = column / row_ * row_ + kernels_.cell_order[column % row_];
    has[slot] = step > 0;
    if (step == 0) return void(standout[slot] = 0);
    const int limit = standout_limit(step << kHistogramShift, (step + 1) << kHistogramShift);
    const int first = (limit + (1 << (kHistogramShift - 1))) >> kHistogramShift;
    standout[slot] = 0;
    for (int s = first; s < kHistogramSteps; ++s) standout[slot] += histogram[s];
}

}  // namespace hearwood

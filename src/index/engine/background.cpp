#include "index/engine/background.h"

#include <algorithm>
#include <cmath>

#include "index/engine/quantile_search.h"
#include "platform/bits.h"

namespace hearwood {
namespace {

float power_of_cell(double cell) {
    return bit_cast<float>(static_cast<std::int32_t>(cell * (1 << kCellShift)));
}

/// The cell from which on a power stands out of the background whose quantile is given: the
/// quantile's power, over -ln 0.9 for the mean of exponentially distributed noise, times 10^0.6 for
/// 6 dB, rounded to the nearest border between cells.
int standout_limit(double quantile_cell) {
    static const double factor = std::pow(10.0, 0.6) / -std::log(0.9);
    const auto quantile = static_cast<double>(power_of_cell(quantile_cell));
    const auto bits = bit_cast<std::int32_t>(static_cast<float>(quantile * factor));
    return std::min((bits + (1 << (kCellShift - 1))) >> kCellShift, kCellMax);
}

}  // namespace

Background::Background(const Kernels& kernels, int groups, std::int64_t frames, int batch)
    : kernels_(kernels), groups_(groups), row_(2 * kernels.lanes) {
    const std::int64_t frame_bytes = static_cast<std::int64_t>(groups) * row_ * 2;
    const std::int64_t histogram_bytes =
        static_cast<std::int64_t>(groups) * row_ * kQuantileSteps * 4;
    const bool whole = frames * frame_bytes <= std::max(kMostBytes, histogram_bytes);
    const std::int64_t held = whole ? std::max<std::int64_t>(frames, 1)
                                    : std::max<std::int64_t>(kPouredBytes / frame_bytes, batch);
    capacity_ = static_cast<int>(held);
    cells_.resize(static_cast<std::size_t>(capacity_) * groups * row_);
    places_.resize(static_cast<std::size_t>(groups) * row_);
    if (!whole) {
        histograms_.resize(static_cast<std::size_t>(groups) * row_ * kQuantileSteps);
    }
}

void Background::keep_places() {
    place_begin_.resize(places_.size() + 1);
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
            histograms_.data() + static_cast<std::size_t>(group) * row_ * kQuantileSteps;
        for (int frame = 0; frame < held_; ++frame) {
            for (int i = 0; i < row_; ++i) {
                ++histogram[i * kQuantileSteps + *cell++ / kQuantileStep];
            }
        }
    }
    poured_ += held_;
    held_ = 0;
}

void Background::finish() {
    if (poured_ == 0) {
        for (int group = 0; group < groups_; ++group) search_group(group, nullptr);
        return;
    }
    pour();
    std::fill(place_begin_.begin(), place_begin_.end(), 0);
    for (int column = 0; column < groups_ * row_; ++column) search_histogram(column, nullptr);
}

void Background::finish(std::vector<std::uint32_t>& standout,
                        std::vector<std::uint8_t>& has_background) {
    if (poured_ == 0) {
        for (int group = 0; group < groups_; ++group) search_group(group, standout.data());
    } else {
        pour();
        std::fill(place_begin_.begin(), place_begin_.end(), 0);
        for (int column = 0; column < groups_ * row_; ++column)
            search_histogram(column, standout.data());
    }
    for (std::size_t slot = 0; slot < places_.size(); ++slot)
        has_background[slot] = places_[slot].low > 0;
}

void Background::search_group(int group, std::uint32_t* standout) {
    const std::int16_t* cells = cells_.data() + cell_stride() * group;
    QuantileSearch search(kernels_, cells, held_);
    search.run();
    for (int i = 0; i < row_; ++i) {
        const auto [low, high, below, inside] = search.bracket(i);
        const bool has = search.has_background(i);
        places_[group * row_ + kernels_.cell_order[i]] = {
            power_of_cell(low), power_of_cell(high), below,
            has ? power_of_cell(search.quantile(i)) : 0};
    }
    if (!place_begin_.empty()) find_places(group, search);
    if (!standout) return;
    std::int16_t limit[2 * kMostLanes];
    std::int32_t below[2 * kMostLanes];
    for (int i = 0; i < row_; ++i)
        limit[i] = static_cast<std::int16_t>(standout_limit(search.quantile(i)));
    kernels_.count_below(cells, held_, 1, limit, below);
    for (int i = 0; i < row_; ++i) {
        const bool has = search.has_background(i);
        standout[group * row_ + kernels_.cell_order[i]] =
            has ? static_cast<std::uint32_t>(held_ - below[i]) : 0;
    }
}

void Background::find_places(int group, const QuantileSearch& search) {
    std::int16_t low[2 * kMostLanes], last[2 * kMostLanes];
    std::size_t* begin = place_begin_.data() + static_cast<std::size_t>(group) * row_;
    for (int i = 0; i < row_; ++i) {
        const QuantileSearch::Bracket bracket = search.bracket(i);
        // Of silence nobody asks, and it would be all frames.
        if (!search.has_background(i)) {
            low[i] = 1;
            last[i] = 0;
            begin[kernels_.cell_order[i] + 1] = 0;
            continue;
        }
        low[i] = static_cast<std::int16_t>(bracket.low);
        last[i] = static_cast<std::int16_t>(bracket.high - 1);
        begin[kernels_.cell_order[i] + 1] = static_cast<std::size_t>(bracket.inside);
    }
    if (group == 0) begin[0] = 0;
    std::size_t next[2 * kMostLanes];
    for (int slot = 0; slot < row_; ++slot) {
        next[slot] = begin[slot];
        begin[slot + 1] += begin[slot];
    }
    const std::size_t count = begin[row_] - begin[0];
    if (found_.size() < count) found_.resize(count);
    if (frames_in_place_.size() < begin[row_]) frames_in_place_.resize(begin[row_]);
    kernels_.cells_between(cells_.data() + cell_stride() * group, held_, low, last, found_.data());
    for (std::size_t n = 0; n < count; ++n) {
        const int slot = kernels_.cell_order[found_[n] % row_];
        frames_in_place_[next[slot]++] = found_[n] / row_;
    }
}

void Background::search_histogram(int column, std::uint32_t* standout) {
    const std::uint32_t* histogram =
        histograms_.data() + static_cast<std::size_t>(column) * kQuantileSteps;
    const std::int64_t rank = poured_ / 10;
    std::int64_t below = 0;
    int step = 0;
    while (below + histogram[step] <= rank) below += histogram[step++];
    const int slot = column / row_ * row_ + kernels_.cell_order[column % row_];
    const double quantile =
        quantile_cell(step * kQuantileStep, kQuantileStep, rank, below, histogram[step]);
    places_[slot] = {power_of_cell(step * kQuantileStep), power_of_cell((step + 1) * kQuantileStep),
                     static_cast<std::int32_t>(below), step > 0 ? power_of_cell(quantile) : 0};
    if (!standout) return;
    if (step == 0) return void(standout[slot] = 0);
    const int limit = standout_limit(quantile);
    // Of the step that holds the limit, the part above it counts.
    const int limit_step = limit / kQuantileStep;
    const double part = 1 - static_cast<double>(limit % kQuantileStep) / kQuantileStep;
    standout[slot] = static_cast<std::uint32_t>(std::lrint(histogram[limit_step] * part));
    for (int s = limit_step + 1; s < kQuantileSteps; ++s) standout[slot] += histogram[s];
}

}  // namespace hearwood

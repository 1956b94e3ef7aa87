#include "screen/blocks.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "index/kernels.h"
#include "screen/rhythm.h"

namespace hearwood {
namespace {

constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();
constexpr int kLanes = 8;  // seven bands and one idle: a power of two for the vector registers
constexpr int kMostTicks = 64;
constexpr float kLeastRise = 1e-6f;

/// A block with a band a lane, so that the inner loops run over eight floats side by side.
struct Lanes {
    float value[kMostTicks][kLanes];
    float median[kLanes];
    std::int32_t smaller[kMostTicks][kLanes];  ///< how many ticks of the block lie below this one
};

void fill(Lanes& lanes, const Tick* ticks, int n) {
    for (int m = 0; m < n; ++m) {
        for (int b = 0; b < kHighBands; ++b) lanes.value[m][b] = ticks[m][b];
        lanes.value[m][kLanes - 1] = 1;
    }
}

void count_smaller(Lanes& lanes, int n) {
    static_assert(kLanes == kRankedColumns);
    kernels(CpuPath::best).count_smaller(lanes.value[0], n, lanes.smaller[0]);
}

/// The element of rank r is the largest that has at most r smaller ones, ties included.
void largest_up_to_rank(const Lanes& lanes, int n, int rank, float (&result)[kLanes]) {
    for (int b = 0; b < kLanes; ++b) result[b] = 0;
    for (int m = 0; m < n; ++m)
        for (int b = 0; b < kLanes; ++b)
            if (lanes.smaller[m][b] <= rank) result[b] = std::max(result[b], lanes.value[m][b]);
}

/// Medians of the levels: of an even count, the mean of the middle two in decibels is the root of
/// the product.
void find_medians(Lanes& lanes, int n) {
    largest_up_to_rank(lanes, n, (n - 1) / 2, lanes.median);
    if (n % 2 == 1) return;
    float upper[kLanes];
    largest_up_to_rank(lanes, n, n / 2, upper);
    for (int b = 0; b < kLanes; ++b)
        lanes.median[b] = std::sqrt(lanes.median[b]) * std::sqrt(upper[b]);
}

/// Puts the smaller of two first.
void order(float& a, float& b) {
    const float smaller = std::min(a, b);
    b = std::max(a, b);
    a = smaller;
}

/// The greatest and the least of what is left are set aside until one is left. Compare and swap
/// without a jump: which way each comparison goes is chance, and a processor that guesses guesses
/// wrong.
float median_of_seven(std::array<float, kHighBands> v) {
    static_assert(kHighBands == 7);
    for (int left = 0, right = kHighBands - 1; left < right; ++left, --right) {
        for (int i = left; i < right; ++i) order(v[i], v[right]);
        for (int i = left + 1; i < right; ++i) order(v[left], v[i]);
    }
    return v[kHighBands / 2];
}

void append(RankedBlocks& blocks, const Lanes& lanes, int n) {
    // A value above the median has more than half of the others, or half of an even count, below
    // it.
    const int least = (n + 1) / 2;
    for (int m = 0; m < n; ++m) {
        int above = 0;
        std::array<float, kHighBands> ratio;
        for (int b = 0; b < kHighBands; ++b) {
            above += lanes.smaller[m][b] >= least;
            ratio[b] = lanes.value[m][b] / lanes.median[b];
        }
        blocks.above.push_back(static_cast<std::uint8_t>(above));
        blocks.rise.push_back(std::max(kLeastRise, median_of_seven(ratio)));
    }
}

struct Moments {
    double mean = 0, variance = 0;
};

Moments moments_of(std::span<const std::uint8_t> values) {
    std::int64_t sum = 0, squares = 0;
    for (const int k : values) {
        sum += k;
        squares += k * k;
    }
    const double n = static_cast<double>(values.size());
    const double mean = static_cast<double>(sum) / n;
    return {mean, static_cast<double>(squares) / n - mean * mean};
}

/// Mean over the pairs `lag` apart inside one block of the product of their deviations.
double covariance_at(const RankedBlocks& blocks, int lag, double mean) {
    const int n = blocks.ticks_per_block;
    std::int64_t products = 0, ends = 0, pairs = 0;
    for (std::size_t start = 0; start < blocks.above.size(); start += n)
        for (int m = 0; m + lag < n; ++m) {
            const int a = blocks.above[start + m], b = blocks.above[start + m + lag];
            products += a * b;
            ends += a + b;
            ++pairs;
        }
    const double count = static_cast<double>(pairs);
    return static_cast<double>(products) / count - mean * static_cast<double>(ends) / count +
           mean * mean;
}

}  // namespace

RankedBlocks rank_blocks(std::span<const Tick> ticks, int ticks_per_block) {
    RankedBlocks blocks;
    const int n = std::clamp(ticks_per_block, 2, kMostTicks);
    blocks.ticks_per_block = n;
    const std::size_t count = ticks.size() / n;
    blocks.above.reserve(count * n);
    blocks.rise.reserve(count * n);
    Lanes lanes;
    for (std::size_t block = 0; block < count; ++block) {
        fill(lanes, ticks.data() + block * n, n);
        count_smaller(lanes, n);
        find_medians(lanes, n);
        if (std::all_of(lanes.median, lanes.median + kHighBands, [](float m) { return m > 0; }))
            append(blocks, lanes, n);
    }
    return blocks;
}

double patter_of(const RankedBlocks& blocks) {
    const std::size_t n = blocks.ticks_per_block;
    const std::size_t count = blocks.above.size() / n;
    if (count == 0) return kMissing;
    double sum = 0;
    for (std::size_t block = 0; block < count; ++block)
        sum += moments_of(std::span(blocks.above).subspan(block * n, n)).variance;
    return sum / static_cast<double>(count) / (kHighBands / 4.0);
}

double memory_of(const RankedBlocks& blocks, double tick_s) {
    if (blocks.above.empty()) return kMissing;
    const Moments all = moments_of(blocks.above);
    if (all.variance <= 0) return kMissing;
    const int n = blocks.ticks_per_block;
    double squares = 0;
    int lags = 0;
    for (int lag = 1; lag < n; ++lag) {
        if (lag * tick_s < 0.04 || lag * tick_s > 0.18) continue;
        const double r = covariance_at(blocks, lag, all.mean) / all.variance + 1.0 / (n - 1);
        squares += r * r;
        ++lags;
    }
    return lags > 0 ? std::sqrt(squares / lags) : kMissing;
}

double tail_of(const RankedBlocks& blocks) {
    if (blocks.rise.size() < 20) return kMissing;
    const auto [low, middle, high] = quantiles_db<3>(blocks.rise, {0.05, 0.5, 0.95});
    const double spread = high - low;
    if (!(spread > 0)) return kMissing;
    return (high + low - 2 * middle) / spread;
}

}  // namespace hearwood

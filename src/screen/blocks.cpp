#include "screen/blocks.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "index/engine/kernels.h"
#include "platform/bits.h"
#include "screen/rhythm.h"

namespace hearwood {
namespace {

constexpr int kLanes = 8;  // seven bands and one idle: a power of two for the vector registers
constexpr int kMostTicks = 64;
constexpr float kLeastRise = 1e-6f;

/// Levels are compared by the bits of their floats: none is below 0, so the bits stand in their
/// order, and the compiler lays integers side by side in vector registers where floats, with NaN
/// and -0 to heed, go one by one.
using Bits = std::int32_t;

/// A block twice: by tick with a band a lane for the ranks, by band with a tick a lane for the
/// rises.
struct Lanes {
    float by_tick[kMostTicks][kLanes];
    float by_band[kHighBands][kMostTicks];
    float median[kLanes];
    std::int32_t smaller[kMostTicks][kLanes];  ///< how many ticks of the block lie below this one
};

void fill(Lanes& lanes, const Tick* ticks, int n) {
    for (int m = 0; m < n; ++m) {
        for (int b = 0; b < kHighBands; ++b) {
            lanes.by_tick[m][b] = ticks[m][b];
            lanes.by_band[b][m] = ticks[m][b];
        }
        lanes.by_tick[m][kLanes - 1] = 1;
    }
}

void count_smaller(Lanes& lanes, int n) {
    static_assert(kLanes == kRankedColumns);
    kernels(CpuPath::best).count_smaller(lanes.by_tick[0], n, lanes.smaller[0]);
}

/// The element of rank r is the largest that has at most r smaller ones, ties included.
void largest_up_to_rank(const Lanes& lanes, int n, int rank, float (&result)[kLanes]) {
    Bits largest[kLanes] = {};
    for (int m = 0; m < n; ++m)
        for (int b = 0; b < kLanes; ++b) {
            const Bits level = bit_cast<Bits>(lanes.by_tick[m][b]);
            const Bits candidate = lanes.smaller[m][b] <= rank ? level : 0;
            largest[b] = std::max(largest[b], candidate);
        }
    for (int b = 0; b < kLanes; ++b) result[b] = bit_cast<float>(largest[b]);
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

/// Puts the smaller of two first, for each of n ticks.
void order(Bits (&a)[kMostTicks], Bits (&b)[kMostTicks], int n) {
    for (int m = 0; m < n; ++m) {
        const Bits smaller = std::min(a[m], b[m]);
        b[m] = std::max(a[m], b[m]);
        a[m] = smaller;
    }
}

/// Leaves the median over the bands of every tick in the middle row: the greatest and the least of
/// what is left are set aside until one is left.
void order_bands(Bits (&v)[kHighBands][kMostTicks], int n) {
    for (int left = 0, right = kHighBands - 1; left < right; ++left, --right) {
        for (int i = left; i < right; ++i) order(v[i], v[right], n);
        for (int i = left + 1; i < right; ++i) order(v[left], v[i], n);
    }
}

void append(RankedBlocks& blocks, const Lanes& lanes, int n) {
    // A value above the median has more than half of the others, or half of an even count, below
    // it. The idle lane has none below it.
    const int least = (n + 1) / 2;
    for (int m = 0; m < n; ++m) {
        int above = 0;
        for (int b = 0; b < kLanes; ++b) above += lanes.smaller[m][b] >= least ? 1 : 0;
        blocks.above.push_back(static_cast<std::uint8_t>(above));
    }
    Bits ratios[kHighBands][kMostTicks];
    for (int b = 0; b < kHighBands; ++b)
        for (int m = 0; m < n; ++m)
            ratios[b][m] = bit_cast<Bits>(lanes.by_band[b][m] / lanes.median[b]);
    order_bands(ratios, n);
    for (int m = 0; m < n; ++m)
        blocks.rise.push_back(std::max(kLeastRise, bit_cast<float>(ratios[kHighBands / 2][m])));
}

struct Moments {
    double mean = 0, variance = 0;
};

Moments moments_of(std::span<const std::uint8_t> values) {
    std::int64_t sum = 0, squares = 0;
    for (const std::int64_t k : values) {
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
            const std::int64_t a = blocks.above[start + m], b = blocks.above[start + m + lag];
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

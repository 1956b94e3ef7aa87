#include "screen/blocks.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "index/engine/kernels.h"
#include "screen/rhythm.h"

namespace hearwood {
namespace {

constexpr int kMostTicks = kMostRankedRows;
constexpr float kLeastRise = 1e-6f;

/// A block twice: by tick with a band a lane for the ranks, by band with a tick a lane for the
/// rises.
struct Lanes {
    float by_tick[kMostTicks][kRankedColumns];  ///< seven bands and one idle
    float by_band[kHighBands][kMostTicks];
    RankedBlock ranked;
    float median[kHighBands];
    float rise[kMostTicks];
};

void fill(Lanes& lanes, const Tick* ticks, int n) {
    for (int m = 0; m < n; ++m) {
        for (int b = 0; b < kHighBands; ++b) {
            lanes.by_tick[m][b] = ticks[m][b];
            lanes.by_band[b][m] = ticks[m][b];
        }
        lanes.by_tick[m][kRankedColumns - 1] = 1;
    }
}

/// Medians of the levels: of an even count, the mean of the middle two in decibels is the root of
/// the product.
void find_medians(Lanes& lanes, int n) {
    for (int b = 0; b < kHighBands; ++b) {
        const float low = lanes.ranked.low_median[b];
        lanes.median[b] =
            n % 2 == 1 ? low : std::sqrt(low) * std::sqrt(lanes.ranked.high_median[b]);
    }
}

void append(RankedBlocks& blocks, Lanes& lanes, int n) {
    blocks.above.insert(blocks.above.end(), lanes.ranked.above, lanes.ranked.above + n);
    kernels(CpuPath::best)
        .medians_of_seven(lanes.by_band[0], kMostTicks, n, lanes.median, lanes.rise);
    for (int m = 0; m < n; ++m) blocks.rise.push_back(std::max(kLeastRise, lanes.rise[m]));
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
    Lanes lanes{};
    for (std::size_t block = 0; block < count; ++block) {
        fill(lanes, ticks.data() + block * n, n);
        kernels(CpuPath::best).rank_block(lanes.by_tick[0], n, &lanes.ranked);
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

// Half-second blocks of ticks: what patter, memory and tail are made of. Ranks are counted instead
// of sorted: order survives the logarithm, so nothing here takes one.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace hearwood {

/// One tick: sums of |X|^2 in [1,2) .. [7,8) kHz, then [60,250) and [500,1000) Hz.
using Tick = std::array<float, 9>;

inline constexpr int kHighBands = 7;

struct RankedBlocks {
    int ticks_per_block = 0;
    /// k_m of every tick of every used block: how many of the seven bands lie above their own
    /// median of the block, 0..7. Blocks in which the median of any band is 0 (digital silence) are
    /// left out.
    std::vector<std::uint8_t> above;
    /// z_m as a power ratio: the median over the seven bands of S / (the block's median of S), at
    /// least 1e-6.
    std::vector<float> rise;
};

/// Whole blocks of `ticks_per_block` ticks (2..64); ticks after the last whole block are not used.
RankedBlocks rank_blocks(std::span<const Tick> ticks, int ticks_per_block);

/// Mean over blocks of var(k) within the block, divided by 7/4: about 1 when the bands are
/// independent, 7 when they move as one. NaN without blocks.
double patter_of(const RankedBlocks& blocks);

/// Root mean square over the lags of 0.04 to 0.18 s of the autocorrelation of k, the bias of the
/// block median undone. NaN without blocks or variation.
double memory_of(const RankedBlocks& blocks, double tick_s);

/// (z95 + z5 - 2 z50) / (z95 - z5) of the ticks' z in decibels: 0 when symmetric, towards 1 for
/// rare hard clicks. NaN without blocks or spread.
double tail_of(const RankedBlocks& blocks);

}  // namespace hearwood

// The loops over samples and over cells (a cell is one bin of one frame), as a table of functions:
// one table for each way of compiling kernels_body.h. Everything outside these functions costs next
// to nothing.
//
// Slots. The bins of a packed transform (spectrum/packed_fft_batch.h) come in pairs k and h - k, h
// = N/2. A group is L pairs side by side in vector registers of L floats, and owns 2 L slots: slot
// 2 L g + i holds the low bin k = L g + order(i), slot 2 L g + L + i the high bin h - k. Which bin
// is where is told by SlotMap (slot_map.h), and only there. A few slots at the end repeat other
// bins; nobody reads them.
#pragma once

#include <cstddef>
#include <cstdint>

#include "index/engine/median_network.h"
#include "index/engine/segment_analyser.h"

namespace hearwood {

/// Sums over consecutive samples, in the units of the sample type.
struct SampleSums {
    double sum = 0;
    double squares = 0;
    double peak = 0;  ///< max abs x
};

/// What is summed per slot. Arrays of `slots` numbers.
struct CellSums {
    double* power;            ///< sum of |X|^2 over all frames
    double* step_amplitude;   ///< sum of |X| over the frames of the current step
    double* step_difference;  ///< sum of abs(|X_{m+1}| - |X_m|) inside the current step
    float* last_amplitude;    ///< |X| of the frame before
    std::uint32_t* loud;      ///< frames with |X|^2 above the slot's loud_power
};

/// Consecutive frames of one step, transformed and waiting to be summed.
struct CellRun {
    const float* rows;       ///< packed spectra of the first frame
    std::size_t row_stride;  ///< floats
    int frames;
    int half;                 ///< h
    int groups;               ///< of L pairs
    const float* twiddle;     ///< per group: L real parts of W^k, then L imaginary parts
    const float* loud_power;  ///< per slot
    int low_groups;    ///< groups whose low slots are counted as loud or feed the ticks; the rest
                       ///< skips it
    int high_groups;   ///< the same for the high slots; at most low_groups
    bool starts_step;  ///< the first frame has no frame before it
    std::int16_t* cells;       ///< first frame's row of group 0
    std::size_t cell_stride;   ///< from group to group, in cells
    float* powers;             ///< |X|^2 by frame and slot, for the ticks; low_groups' slots only
    std::size_t power_stride;  ///< from frame to frame
};

/// Powers of a tile's frames, slot by slot, to a tile (power_tiles.h): term t takes L slots from
/// slot[t] on, and the frames of lane i go to tile + at[L t + i].
struct TurnTerms {
    int terms;
    const int* slot;
    const std::size_t* at;
};

/// What a search for cells that are up needs (docs/measures.md, events). Symbols as there.
struct RiseSearch {
    const float* tiles;            ///< of E; a tile further is readable at both ends
    std::size_t tile_stride;       ///< floats
    int bins;                      ///< at most kMostRiseBins
    const float* to_rise;          ///< per bin: 1 / (9 background); 0 where there is none
    float least_rise;              ///< 10^0.5
    int block, blocks;             ///< w, and how many whole blocks there are
    const MedianNetwork* network;  ///< of w places
    const std::int16_t* block_of;  ///< per bin: the block centre at or below it, at most blocks - 2
    const float* share_above;      ///< per bin: 0 at that centre, 1 at the next
};

/// Which slots make up bands: term t takes L slots from slot[t] on, times the L masks (0 or 1) from
/// mask[L t] on. The terms of band b end before band_end[b].
struct BandTerms {
    int bands;
    const int* band_end;
    const int* slot;
    const float* mask;
};

constexpr int kRankedColumns = 8;
constexpr int kMostRankedRows = 64;
constexpr int kMostFew = 64;

/// What a block of rows holds in every column: ranks are counted, so that no logarithm is taken.
struct RankedBlock {
    float low_median[kRankedColumns], high_median[kRankedColumns];  ///< of an even count two
    std::uint8_t above[kMostRankedRows];  ///< per row: in how many columns it is above the median
};

struct Kernels {
    const char* name;       ///< as cpu_path() shows it
    int lanes;              ///< L
    const int* order;       ///< per lane i: order(i)
    const int* cell_order;  ///< per cell of a row of 2 L: its slot within the group

    /// out[n] = x[n] window[n]; the sums are those of the raw x.
    SampleSums (*window_samples)(const std::int16_t* x, const float* window, int count, float* out);
    SampleSums (*window_floats)(const float* x, const float* window, int count, float* out);
    /// The same without the sums.
    void (*apply_window)(const std::int16_t* x, const float* window, int count, float* out);
    void (*apply_window_to_floats)(const float* x, const float* window, int count, float* out);

    /// Every bin of every frame of the run: unpacked, squared, rooted, summed, and stored as a
    /// 16-bit cell.
    void (*sum_cells)(const CellRun& run, const CellSums& sums);

    /// Every bin of every frame of the run stored as a cell, the powers too, and nothing summed.
    /// REQUIRES: nothing of run.loud_power, starts_step.
    void (*keep_cells)(const CellRun& run);

    /// kTileFrames frames from `powers` on.
    void (*turn_powers)(const float* powers, std::size_t power_stride, const TurnTerms& terms,
                        float* tile);

    /// Which cells of a tile are up: bit i + shift of up[up_stride * bin] is set when that of the
    /// tile's frame i is. Nothing is written of bins without any.
    void (*find_up)(const RiseSearch& search, std::size_t tile, std::uint64_t* up,
                    std::size_t up_stride, int shift);

    /// The greatest sum of 3 x 3 powers around a cell of the bin in frames [first, last); beyond
    /// the outermost bin it counts twice.
    float (*greatest_sum)(const RiseSearch& search, int bin, int first, int last);

    /// sums[b] += powers of band b, over so many frames.
    void (*sum_bands)(const float* powers, std::size_t power_stride, int frames,
                      const BandTerms& terms, float* sums);

    /// For each of the 2 L columns: how many of `rows` rows, every `every`-th of the store, have a
    /// cell below the column's limit.
    void (*count_below)(const std::int16_t* cells, int rows, int every, const std::int16_t* limits,
                        std::int32_t* counts);
    /// The same for kSearchLimits limits at once; limits and counts are [limit][column].
    void (*count_below_search)(const std::int16_t* cells, int rows, int every,
                               const std::int16_t* limits, std::int32_t* counts);

    /// The cells from low[column] to last[column], a row after the other, each as row * 2 L +
    /// column; returns how many. REQUIRES: room for them.
    int (*cells_between)(const std::int16_t* cells, int rows, const std::int16_t* low,
                         const std::int16_t* last, std::int32_t* found);

    /// How many of the values are below the limit; NaN is not. REQUIRES: count >= 0.
    int (*count_values_below)(const float* values, int count, float limit);

    /// The values with low <= value < high, in their order; returns how many. REQUIRES: room for
    /// `count` values.
    int (*values_between)(const float* values, int count, float low, float high, float* out);

    /// Of at most kMostFew values, none below 0, the one of a rank from 0, and the one behind it.
    /// REQUIRES: rank + 1 < count, else `next` is of no meaning; `values` readable to kMostFew, and
    /// infinite behind `count`.
    void (*value_of_few)(const float* values, int count, int rank, float* value, float* next);

    /// `count` rows of kRankedColumns values, none below 0; at most kMostRankedRows of them.
    void (*rank_block)(const float* rows, int count, RankedBlock* block);

    /// medians[n] = median of rows[r stride + n] / divisors[r], r = 0..6. REQUIRES: rows and
    /// medians with room for the next multiple of L after `count`.
    void (*medians_of_seven)(const float* rows, int stride, int count, const float* divisors,
                             float* medians);
};

constexpr int kTileFrames = 8;
constexpr int kSearchLimits = 4;
constexpr int kMostLanes = 8;
constexpr int kMostRiseBins = 256;
constexpr int kMostRiseBlocks = 16;
constexpr int kMostRiseBlock = MedianNetwork::kMostPlaces;  ///< w

/// The table for this machine and choice (HEARWOOD_CPU considered).
const Kernels& kernels(CpuPath path);

const Kernels& baseline_kernels();
#if defined(__x86_64__)
const Kernels& v3_kernels();
const Kernels& v4_kernels();  ///< the same bits as v3_kernels()
#endif

/// The cell of a power: the top 16 bits of the float below its sign, 256 steps an octave (0.012
/// dB). Powers are scaled so that full scale is about 2^-32: nothing that a recorder writes comes
/// near either end.
constexpr int kCellShift = 15;
constexpr int kCellMax = 32767;

}  // namespace hearwood

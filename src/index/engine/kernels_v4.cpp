// Some kernels in vectors of 512 bits, for processors with AVX-512 (x86-64-v4); build.cmake gives
// this file its flags. They do to every lane what those of x86-64-v3 do to it, in the same order:
// two groups of bins, two rows of cells or two runs of samples side by side. So the bits are those
// of x86-64-v3, the slots are the same, and the name is.
#include <utility>

#include "index/engine/kernels.h"

#if defined(__x86_64__)
#include <immintrin.h>

#define HEARWOOD_KERNEL_NAME "x86-64-v3"

namespace hearwood {
namespace {

#include "index/engine/kernels_body.h"

// NOLINTBEGIN(bugprone-implicit-widening-of-multiplication-result)

constexpr int kWide = 2 * kLanes;

using WideFloats = float __attribute__((vector_size(4 * kWide)));
using WideInts = std::int32_t __attribute__((vector_size(4 * kWide)));

inline WideFloats all_wide(float x) {
    return x - WideFloats{};
}

inline WideFloats both(const float* first, const float* second) {
    return __builtin_shufflevector(load<Floats>(first), load<Floats>(second), 0, 1, 2, 3, 4, 5, 6,
                                   7, 8, 9, 10, 11, 12, 13, 14, 15);
}

inline Floats first_of(WideFloats v) {
    return __builtin_shufflevector(v, v, 0, 1, 2, 3, 4, 5, 6, 7);
}

inline Floats second_of(WideFloats v) {
    return __builtin_shufflevector(v, v, 8, 9, 10, 11, 12, 13, 14, 15);
}

inline Ints first_of(WideInts v) {
    return __builtin_shufflevector(v, v, 0, 1, 2, 3, 4, 5, 6, 7);
}

inline Ints second_of(WideInts v) {
    return __builtin_shufflevector(v, v, 8, 9, 10, 11, 12, 13, 14, 15);
}

inline WideFloats absolute(WideFloats v) {
    return reinterpret_cast<WideFloats>(reinterpret_cast<WideInts>(v) & 0x7fffffff);
}

// ---- samples

inline WideFloats load_wide(const std::int16_t* from) {
    return _mm512_cvtepi32_ps(_mm512_cvtepi16_epi32(load<__m256i>(from)));
}

inline WideFloats load_wide(const float* from) {
    return load<WideFloats>(from);
}

struct WideSums {
    WideFloats sum{}, squares{}, peak{};

    inline void take(WideFloats x) {
        sum += x;
        squares += x * x;
        peak = _mm512_max_ps(absolute(x), peak);
    }
};

/// Two of the four runs of window_samples() side by side.
template <typename T>
inline void window_wide(const T* x, const float* window, float* out, WideSums& sums) {
    const WideFloats v = load_wide(x);
    sums.take(v);
    store(out, v * load<WideFloats>(window));
}

template <typename T>
SampleSums window_samples_wide(const T* x, const float* window, int count, float* out) {
    if (count % (2 * kWide) != 0) return window_samples(x, window, count, out);
    WideSums ab, cd;
    for (int n = 0; n < count; n += 2 * kWide) {
        window_wide(x + n, window + n, out + n, ab);
        window_wide(x + n + kWide, window + n + kWide, out + n + kWide, cd);
    }
    const auto total = [](WideFloats a, WideFloats c) {
        return static_cast<double>(
            lane_sum((first_of(a) + second_of(a)) + (first_of(c) + second_of(c))));
    };
    const WideFloats peak = _mm512_max_ps(ab.peak, cd.peak);
    return {total(ab.sum, cd.sum), total(ab.squares, cd.squares),
            lane_max(larger(first_of(peak), second_of(peak)))};
}

template <typename T>
void apply_window_wide(const T* x, const float* window, int count, float* out) {
    int n = 0;
    for (; n + kWide <= count; n += kWide)
        store(out + n, load_wide(x + n) * load<WideFloats>(window + n));
    for (; n < count; ++n) out[n] = static_cast<float>(x[n]) * window[n];
}

// ---- cells

struct WideComplex {
    WideFloats re, im;
};

/// load_forward() of two groups, the second behind the first.
inline WideComplex load_forward_wide(const float* z) {
    const WideFloats a = load<WideFloats>(z), b = load<WideFloats>(z + kWide);
    constexpr WideInts kReal{0, 2, 8, 10, 4, 6, 12, 14, 16, 18, 24, 26, 20, 22, 28, 30};
    const WideInts imaginary = kReal + 1;
    return {_mm512_permutex2var_ps(a, reinterpret_cast<__m512i>(kReal), b),
            _mm512_permutex2var_ps(a, reinterpret_cast<__m512i>(imaginary), b)};
}

/// load_backward() of two groups, the second in front of the first.
inline WideComplex load_backward_wide(const float* z) {
    const WideFloats a = load<WideFloats>(z + 2 - kWide), b = load<WideFloats>(z + 2 - 2 * kWide);
    constexpr WideInts kReal{14, 12, 6, 4, 10, 8, 2, 0, 30, 28, 22, 20, 26, 24, 18, 16};
    const WideInts imaginary = kReal + 1;
    return {_mm512_permutex2var_ps(a, reinterpret_cast<__m512i>(kReal), b),
            _mm512_permutex2var_ps(a, reinterpret_cast<__m512i>(imaginary), b)};
}

struct WidePowers {
    WideFloats low, high;
};

inline WidePowers pair_powers(const WideComplex& w, const float* forward, const float* backward) {
    const WideComplex z = load_forward_wide(forward), y = load_backward_wide(backward);
    const WideComplex e{z.re + y.re, z.im - y.im};
    const WideComplex o{z.im + y.im, y.re - z.re};
    const WideComplex t{w.re * o.re - w.im * o.im, w.re * o.im + w.im * o.re};
    const WideComplex x{e.re + t.re, e.im + t.im}, x_high{e.re - t.re, e.im - t.im};
    return {x.re * x.re + x.im * x.im, x_high.re * x_high.re + x_high.im * x_high.im};
}

struct WideBinSums {
    WideFloats power{}, amplitude{}, difference{}, last{};
    WideInts loud{};

    inline void take(WideFloats p, bool has_last) {
        const WideFloats a = _mm512_sqrt_ps(p);
        power += p;
        amplitude += a;
        if (has_last) difference += absolute(a - last);
        last = a;
    }

    inline void count(WideFloats p, WideFloats limit) { loud -= p > limit; }

    inline void write(const CellSums& sums, int slot, bool count_loud) const {
        const BinSums first{first_of(power), first_of(amplitude), first_of(difference),
                            first_of(last), first_of(loud)};
        const BinSums second{second_of(power), second_of(amplitude), second_of(difference),
                             second_of(last), second_of(loud)};
        first.write(sums, slot, count_loud);
        second.write(sums, slot + 2 * kLanes, count_loud);
    }
};

/// Of two groups what pack_cells() makes of one.
inline void store_cells(std::int16_t* cells, std::size_t stride, const WidePowers& p) {
    const __m512i low = _mm512_srli_epi32(reinterpret_cast<__m512i>(p.low), kCellShift);
    const __m512i high = _mm512_srli_epi32(reinterpret_cast<__m512i>(p.high), kCellShift);
    const __m512i packed = _mm512_packs_epi32(low, high);
    store(cells, _mm512_castsi512_si256(packed));
    store(cells + stride, _mm512_extracti32x8_epi32(packed, 1));
}

inline void store_powers(float* powers, WideFloats p) {
    store(powers, first_of(p));
    store(powers + 2 * kLanes, second_of(p));
}

/// Groups `group` and `group` + 1, as sum_group() and keep_group() do one.
template <bool kSum, bool kLow, bool kHigh>
void take_groups(const CellRun& run, const CellSums* sums, int group) {
    const int slot = 2 * kLanes * group, next = slot + 2 * kLanes;
    const WideComplex w{both(run.twiddle + slot, run.twiddle + next),
                        both(run.twiddle + slot + kLanes, run.twiddle + next + kLanes)};
    WideFloats loud_low{}, loud_high{};
    WideBinSums low, high;
    if constexpr (kSum) {
        loud_low = both(run.loud_power + slot, run.loud_power + next);
        loud_high = both(run.loud_power + slot + kLanes, run.loud_power + next + kLanes);
        const float* last = sums->last_amplitude;
        low.last = both(last + slot, last + next);
        high.last = both(last + slot + kLanes, last + next + kLanes);
    }
    const float* forward = run.rows + 2 * kLanes * group;
    const float* backward = run.rows + 2 * (run.half - kLanes * group);
    std::int16_t* cells = run.cells + run.cell_stride * group;
    float* powers = run.powers + slot;
    for (int f = 0; f < run.frames; ++f) {
        const WidePowers p = pair_powers(w, forward, backward);
        if constexpr (kSum) {
            const bool has_last = f > 0 || !run.starts_step;
            low.take(p.low, has_last);
            high.take(p.high, has_last);
            if constexpr (kLow) low.count(p.low, loud_low);
            if constexpr (kHigh) high.count(p.high, loud_high);
        }
        store_cells(cells, run.cell_stride, p);
        if constexpr (kLow) store_powers(powers, p.low);
        if constexpr (kHigh) store_powers(powers + kLanes, p.high);
        forward += run.row_stride;
        backward += run.row_stride;
        cells += 2 * kLanes;
        powers += run.power_stride;
    }
    if constexpr (kSum) {
        low.write(*sums, slot, kLow);
        high.write(*sums, slot + kLanes, kHigh);
    }
}

/// The groups up to `end`, two at a time, the last of an odd number alone.
template <bool kSum, bool kLow, bool kHigh>
int take_groups_to(int end, const CellRun& run, const CellSums* sums, int group) {
    for (; group + 2 <= end; group += 2) take_groups<kSum, kLow, kHigh>(run, sums, group);
    for (; group < end; ++group) {
        if constexpr (kSum)
            sum_group<kLow, kHigh>(run, *sums, group);
        else
            keep_group<kLow, kHigh>(run, group);
    }
    return group;
}

template <bool kSum>
void take_cells(const CellRun& run, const CellSums* sums) {
    int group = take_groups_to<kSum, true, true>(run.high_groups, run, sums, 0);
    group = take_groups_to<kSum, true, false>(run.low_groups, run, sums, group);
    take_groups_to<kSum, false, false>(run.groups, run, sums, group);
}

void sum_cells_wide(const CellRun& run, const CellSums& sums) {
    take_cells<true>(run, &sums);
}

void keep_cells_wide(const CellRun& run) {
    take_cells<false>(run, nullptr);
}

// ---- background: two rows of cells side by side

inline __m512i twice(const std::int16_t* row) {
    return _mm512_broadcast_i64x4(load<__m256i>(row));
}

template <int kLimits>
void count_columns_wide(const std::int16_t* cells, int rows, int every, const std::int16_t* limits,
                        std::int32_t* counts) {
    constexpr int kMostPairs = 32767;  // what a 16-bit lane can count
    constexpr int kColumns = 2 * kLanes;
    if (every != 1) return count_columns<kLimits>(cells, rows, every, limits, counts);
    __m512i limit[kLimits];
    for (int n = 0; n < kLimits; ++n) limit[n] = twice(limits + n * kColumns);
    for (int i = 0; i < kLimits * kColumns; ++i) counts[i] = 0;
    const __m512i one = _mm512_set1_epi16(1);
    const int pairs = rows / 2;
    const auto add_counts = [&](const __m512i& count, int n) {
        std::int16_t lanes[2 * kColumns];
        store(lanes, count);
        for (int i = 0; i < 2 * kColumns; ++i) counts[n * kColumns + i % kColumns] += lanes[i];
    };
    for (int pair = 0; pair < pairs;) {
        const int end = pairs - pair < kMostPairs ? pairs : pair + kMostPairs;
        __m512i count[kLimits] = {};
        for (; pair < end; ++pair, cells += 2 * kColumns) {
            const auto both_rows = load<__m512i>(cells);
            for (int n = 0; n < kLimits; ++n)
                count[n] = _mm512_mask_add_epi16(
                    count[n], _mm512_cmplt_epi16_mask(both_rows, limit[n]), count[n], one);
        }
        for (int n = 0; n < kLimits; ++n) add_counts(count[n], n);
    }
    if (rows % 2 == 0) return;
    for (int i = 0; i < kLimits * kColumns; ++i) counts[i] += cells[i % kColumns] < limits[i];
}

int cells_between_wide(const std::int16_t* cells, int rows, const std::int16_t* low,
                       const std::int16_t* last, std::int32_t* found) {
    constexpr int kColumns = 2 * kLanes;
    const __m512i lows = twice(low), lasts = twice(last);
    int count = 0, row = 0;
    for (; row + 2 <= rows; row += 2, cells += 2 * kColumns) {
        const auto c = load<__m512i>(cells);
        const __mmask32 from_low = _mm512_cmpge_epi16_mask(c, lows);
        for (unsigned inside = _mm512_mask_cmple_epi16_mask(from_low, c, lasts); inside != 0;
             inside &= inside - 1)
            found[count++] = row * kColumns + __builtin_ctz(inside);
    }
    for (int i = 0; row < rows && i < kColumns; ++i)
        if (cells[i] >= low[i] && cells[i] <= last[i]) found[count++] = row * kColumns + i;
    return count;
}

// NOLINTEND(bugprone-implicit-widening-of-multiplication-result)

constexpr Kernels wide_table() {
    Kernels table = kTable;
    table.window_samples = window_samples_wide<std::int16_t>;
    table.window_floats = window_samples_wide<float>;
    table.apply_window = apply_window_wide<std::int16_t>;
    table.apply_window_to_floats = apply_window_wide<float>;
    table.sum_cells = sum_cells_wide;
    table.keep_cells = keep_cells_wide;
    table.count_below = count_columns_wide<1>;
    table.count_below_search = count_columns_wide<kSearchLimits>;
    table.cells_between = cells_between_wide;
    return table;
}

constexpr Kernels kWideTable = wide_table();

}  // namespace

const Kernels& v4_kernels() {
    return kWideTable;
}

}  // namespace hearwood
#endif

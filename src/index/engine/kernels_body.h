// The kernels of kernels.h, written once and compiled by kernels_baseline.cpp, kernels_v3.cpp and
// kernels_v4.cpp with their own flags, each in a namespace of its own. Nothing from the standard
// library's function templates may be used here: the linker keeps one copy of an inline function,
// and it could be the one an older processor cannot run.
//
// Vectors are GCC's (and clang's) vector types: + - * and comparisons work lane by lane, a
// comparison gives -1 where true. kLanes is 8 with AVX2 and 4 elsewhere (SSE2, NEON).
//
// Cost at N = H = 512 and 24 kHz with AVX-512 (with AVX2 alone), seen by perf on a busy machine, in
// nanoseconds a frame: window 31 (61), transform (FFTW) 120, cells 82 (100), ticks 27, background
// 65 (74), events 46 to turn, 46 (54) to look for what is up, 46 for the rest. Reading the samples
// from the page cache costs another 100 and more.

#if defined(__AVX2__)
#define HEARWOOD_LANES 8
#else
#define HEARWOOD_LANES 4
#endif

constexpr int kLanes = HEARWOOD_LANES;

using Floats = float __attribute__((vector_size(4 * kLanes)));
using Ints = std::int32_t __attribute__((vector_size(4 * kLanes)));
using Unsigned = std::uint32_t __attribute__((vector_size(4 * kLanes)));
using Cells = std::int16_t __attribute__((vector_size(4 * kLanes)));  // twice as many lanes
using Shorts = std::int16_t __attribute__((vector_size(2 * kLanes)));
using HalfFloats = float __attribute__((vector_size(2 * kLanes)));
using HalfDoubles = double __attribute__((vector_size(4 * kLanes)));

// Offsets are int: rows, frames and groups have at most some 100,000 floats.
// NOLINTBEGIN(bugprone-implicit-widening-of-multiplication-result)

// ---- vector primitives

template <typename Vector, typename T>
inline Vector load(const T* from) {
    Vector v;
    __builtin_memcpy(&v, from, sizeof v);
    return v;
}

template <typename Vector, typename T>
inline void store(T* to, const Vector& v) {
    __builtin_memcpy(to, &v, sizeof v);
}

inline Floats all(float x) {
    return x - Floats{};
}

inline Floats absolute(Floats v) {
    return reinterpret_cast<Floats>(reinterpret_cast<Ints>(v) & 0x7fffffff);
}

/// a > b ? a : b
inline Floats larger(Floats a, Floats b) {
#if defined(__AVX2__)
    return _mm256_max_ps(a, b);
#elif defined(__SSE2__)
    return _mm_max_ps(a, b);
#else
    return a > b ? a : b;
#endif
}

/// a < b ? a : b
inline Floats smaller(Floats a, Floats b) {
#if defined(__AVX2__)
    return _mm256_min_ps(a, b);
#elif defined(__SSE2__)
    return _mm_min_ps(a, b);
#else
    return a < b ? a : b;
#endif
}

inline Floats square_root(Floats v) {
#if defined(__AVX2__)
    return _mm256_sqrt_ps(v);
#elif defined(__SSE2__)
    return _mm_sqrt_ps(v);
#elif defined(__aarch64__)
    return vsqrtq_f32(v);
#else
    for (int i = 0; i < kLanes; ++i) v[i] = __builtin_sqrtf(v[i]);
    return v;
#endif
}

/// L samples as floats.
inline Floats load_samples(const std::int16_t* from) {
    return __builtin_convertvector(__builtin_convertvector(load<Shorts>(from), Ints), Floats);
}

inline Floats load_samples(const float* from) {
    return load<Floats>(from);
}

/// The sum of the lanes, by halves.
inline float lane_sum(Floats v) {
#if HEARWOOD_LANES == 8
    v += __builtin_shufflevector(v, v, 4, 5, 6, 7, 0, 1, 2, 3);
    v += __builtin_shufflevector(v, v, 2, 3, 0, 1, 6, 7, 4, 5);
    v += __builtin_shufflevector(v, v, 1, 0, 3, 2, 5, 4, 7, 6);
#else
    v += __builtin_shufflevector(v, v, 2, 3, 0, 1);
    v += __builtin_shufflevector(v, v, 1, 0, 3, 2);
#endif
    return v[0];
}

inline double lane_max(Floats v) {
    float most = v[0];
    for (int i = 1; i < kLanes; ++i) most = v[i] > most ? v[i] : most;
    return static_cast<double>(most);
}

/// totals[0..L) += v, in double precision.
inline void add_to(double* totals, Floats v) {
    HalfFloats parts[2];
    __builtin_memcpy(parts, &v, sizeof v);
    for (int part = 0; part < 2; ++part) {
#if defined(__AVX2__)
        const HalfDoubles doubles = _mm256_cvtps_pd(parts[part]);
#else
        const HalfDoubles doubles = __builtin_convertvector(parts[part], HalfDoubles);
#endif
        double* at = totals + part * (kLanes / 2);
        store(at, load<HalfDoubles>(at) + doubles);
    }
}

/// 2 L cells of 16 bits from the powers of L low and L high bins, larger ones than a cell holds cut
/// down to kCellMax. The order of the lanes is the one the processor's packing gives: kCellOrder.
inline Cells pack_cells(Floats low, Floats high) {
    // Shifted without sign, so that not even a NaN gives a negative cell.
    const Ints a = reinterpret_cast<Ints>(reinterpret_cast<Unsigned>(low) >> kCellShift);
    const Ints b = reinterpret_cast<Ints>(reinterpret_cast<Unsigned>(high) >> kCellShift);
#if defined(__AVX2__)
    return reinterpret_cast<Cells>(
        _mm256_packs_epi32(reinterpret_cast<__m256i>(a), reinterpret_cast<__m256i>(b)));
#elif defined(__SSE2__)
    return reinterpret_cast<Cells>(
        _mm_packs_epi32(reinterpret_cast<__m128i>(a), reinterpret_cast<__m128i>(b)));
#else
    Cells cells;
    for (int i = 0; i < kLanes; ++i) {
        cells[i] = static_cast<std::int16_t>(a[i] < kCellMax ? a[i] : kCellMax);
        cells[kLanes + i] = static_cast<std::int16_t>(b[i] < kCellMax ? b[i] : kCellMax);
    }
    return cells;
#endif
}

#if HEARWOOD_LANES == 8
constexpr int kOrder[] = {0, 1, 4, 5, 2, 3, 6, 7};
constexpr int kCellOrder[] = {0, 1, 2, 3, 8, 9, 10, 11, 4, 5, 6, 7, 12, 13, 14, 15};
#else
constexpr int kOrder[] = {0, 1, 2, 3};
constexpr int kCellOrder[] = {0, 1, 2, 3, 4, 5, 6, 7};
#endif

struct Complex {
    Floats re, im;
};

/// L complex numbers z[0..L), in lane order kOrder.
inline Complex load_forward(const float* z) {
    const Floats a = load<Floats>(z), b = load<Floats>(z + kLanes);
#if HEARWOOD_LANES == 8
    return {__builtin_shufflevector(a, b, 0, 2, 8, 10, 4, 6, 12, 14),
            __builtin_shufflevector(a, b, 1, 3, 9, 11, 5, 7, 13, 15)};
#else
    return {__builtin_shufflevector(a, b, 0, 2, 4, 6), __builtin_shufflevector(a, b, 1, 3, 5, 7)};
#endif
}

/// L complex numbers z[0], z[-1] .. z[-(L-1)], in lane order kOrder.
inline Complex load_backward(const float* z) {
    const Floats a = load<Floats>(z + 2 - kLanes), b = load<Floats>(z + 2 - 2 * kLanes);
#if HEARWOOD_LANES == 8
    const Floats c = _mm256_permute2f128_ps(a, a, 1),
                 d = _mm256_permute2f128_ps(b, b, 1);  // halves swapped
    return {_mm256_shuffle_ps(c, d, _MM_SHUFFLE(0, 2, 0, 2)),
            _mm256_shuffle_ps(c, d, _MM_SHUFFLE(1, 3, 1, 3))};
#else
    return {__builtin_shufflevector(a, b, 2, 0, 6, 4), __builtin_shufflevector(a, b, 3, 1, 7, 5)};
#endif
}

/// |X|^2 of L low bins and of their L high partners (spectrum/packed_fft_batch.h).
struct PairPowers {
    Floats low, high;
};

inline PairPowers pair_powers(const Complex& w, const float* forward, const float* backward) {
    const Complex z = load_forward(forward), y = load_backward(backward);
    const Complex e{z.re + y.re, z.im - y.im};
    const Complex o{z.im + y.im, y.re - z.re};
    const Complex t{w.re * o.re - w.im * o.im, w.re * o.im + w.im * o.re};
    const Complex x{e.re + t.re, e.im + t.im}, x_high{e.re - t.re, e.im - t.im};
    return {x.re * x.re + x.im * x.im, x_high.re * x_high.re + x_high.im * x_high.im};
}

// ---- samples: window and raw sums

/// One vector's share of the sums, so that several can run side by side and hide each other's
/// latency.
struct LaneSums {
    Floats sum{}, squares{}, peak{};

    inline void take(Floats x) {
        sum += x;
        squares += x * x;
        peak = larger(absolute(x), peak);
    }
};

template <typename T>
inline void window_vector(const T* x, const float* window, float* out, LaneSums& sums) {
    const Floats v = load_samples(x);
    sums.take(v);
    store(out, v * load<Floats>(window));
}

template <typename T>
SampleSums window_samples(const T* x, const float* window, int count, float* out) {
    LaneSums a, b, c, d;
    int n = 0;
    for (; n + 4 * kLanes <= count; n += 4 * kLanes) {
        window_vector(x + n, window + n, out + n, a);
        window_vector(x + n + kLanes, window + n + kLanes, out + n + kLanes, b);
        window_vector(x + n + 2 * kLanes, window + n + 2 * kLanes, out + n + 2 * kLanes, c);
        window_vector(x + n + 3 * kLanes, window + n + 3 * kLanes, out + n + 3 * kLanes, d);
    }
    SampleSums sums{
        static_cast<double>(lane_sum((a.sum + b.sum) + (c.sum + d.sum))),
        static_cast<double>(lane_sum((a.squares + b.squares) + (c.squares + d.squares))),
        lane_max(larger(larger(a.peak, b.peak), larger(c.peak, d.peak)))};
    for (; n < count; ++n) {
        const float v = static_cast<float>(x[n]);
        const float size = v < 0 ? -v : v;
        sums.sum += static_cast<double>(v);
        sums.squares += static_cast<double>(v) * static_cast<double>(v);
        if (static_cast<double>(size) > sums.peak) sums.peak = static_cast<double>(size);
        out[n] = v * window[n];
    }
    return sums;
}

template <typename T>
void apply_window(const T* x, const float* window, int count, float* out) {
    int n = 0;
    for (; n + kLanes <= count; n += kLanes)
        store(out + n, load_samples(x + n) * load<Floats>(window + n));
    for (; n < count; ++n) out[n] = static_cast<float>(x[n]) * window[n];
}

// ---- cells

/// What is summed of L bins while they are taken through the frames of a run: all in registers.
struct BinSums {
    Floats power{}, amplitude{}, difference{}, last{};
    Ints loud{};

    inline void take(Floats p, bool has_last) {
        const Floats a = square_root(p);
        power += p;
        amplitude += a;
        if (has_last) difference += absolute(a - last);
        last = a;
    }

    inline void write(const CellSums& sums, int slot, bool count_loud) const {
        add_to(sums.power + slot, power);
        add_to(sums.step_amplitude + slot, amplitude);
        add_to(sums.step_difference + slot, difference);
        store(sums.last_amplitude + slot, last);
        if (count_loud) {
            auto* at = reinterpret_cast<std::int32_t*>(sums.loud + slot);
            store(at, load<Ints>(at) + loud);
        }
    }
};

/// One group through all frames of the run. kLow, kHigh: its low, its high slots are below 10 kHz.
template <bool kLow, bool kHigh>
void sum_group(const CellRun& run, const CellSums& sums, int group) {
    const int slot = 2 * kLanes * group;
    const Complex w{load<Floats>(run.twiddle + slot), load<Floats>(run.twiddle + slot + kLanes)};
    const Floats loud_low = load<Floats>(run.loud_power + slot);
    const Floats loud_high = load<Floats>(run.loud_power + slot + kLanes);
    const float* forward = run.rows + 2 * kLanes * group;
    const float* backward = run.rows + 2 * (run.half - kLanes * group);
    std::int16_t* cells = run.cells + run.cell_stride * group;
    float* powers = run.powers + slot;

    BinSums low, high;
    low.last = load<Floats>(sums.last_amplitude + slot);
    high.last = load<Floats>(sums.last_amplitude + slot + kLanes);
    const auto take_frame = [&](bool has_last) {
        const auto [p, p_high] = pair_powers(w, forward, backward);
        low.take(p, has_last);
        high.take(p_high, has_last);
        store(cells, pack_cells(p, p_high));
        if constexpr (kLow) {
            low.loud -= p > loud_low;
            store(powers, p);
        }
        if constexpr (kHigh) {
            high.loud -= p_high > loud_high;
            store(powers + kLanes, p_high);
        }
        forward += run.row_stride;
        backward += run.row_stride;
        cells += 2 * kLanes;
        powers += run.power_stride;
    };
    take_frame(!run.starts_step);
    for (int f = 1; f < run.frames; ++f) take_frame(true);
    low.write(sums, slot, kLow);
    high.write(sums, slot + kLanes, kHigh);
}

void sum_cells(const CellRun& run, const CellSums& sums) {
    int group = 0;
    for (; group < run.high_groups; ++group) sum_group<true, true>(run, sums, group);
    for (; group < run.low_groups; ++group) sum_group<true, false>(run, sums, group);
    for (; group < run.groups; ++group) sum_group<false, false>(run, sums, group);
}

/// One group through all frames of the run, only to be kept.
template <bool kLow, bool kHigh>
void keep_group(const CellRun& run, int group) {
    const int slot = 2 * kLanes * group;
    const Complex w{load<Floats>(run.twiddle + slot), load<Floats>(run.twiddle + slot + kLanes)};
    const float* forward = run.rows + 2 * kLanes * group;
    const float* backward = run.rows + 2 * (run.half - kLanes * group);
    std::int16_t* cells = run.cells + run.cell_stride * group;
    float* powers = run.powers + slot;
    for (int f = 0; f < run.frames; ++f) {
        const PairPowers p = pair_powers(w, forward, backward);
        store(cells, pack_cells(p.low, p.high));
        if constexpr (kLow) store(powers, p.low);
        if constexpr (kHigh) store(powers + kLanes, p.high);
        forward += run.row_stride;
        backward += run.row_stride;
        cells += 2 * kLanes;
        powers += run.power_stride;
    }
}

void keep_cells(const CellRun& run) {
    int group = 0;
    for (; group < run.high_groups; ++group) keep_group<true, true>(run, group);
    for (; group < run.low_groups; ++group) keep_group<true, false>(run, group);
    for (; group < run.groups; ++group) keep_group<false, false>(run, group);
}

#include "index/engine/kernels_events.h"

// ---- ticks

void sum_bands(const float* powers, std::size_t power_stride, int frames, const BandTerms& terms,
               float* sums) {
    int at = 0;
    for (int band = 0; band < terms.bands; ++band) {
        Floats sum{};
        for (; at < terms.band_end[band]; ++at) {
            const float* p = powers + terms.slot[at];
            Floats over_frames = load<Floats>(p);
            for (int f = 1; f < frames; ++f) over_frames += load<Floats>(p + power_stride * f);
            sum += over_frames * load<Floats>(terms.mask + static_cast<std::size_t>(at) * kLanes);
        }
        sums[band] += lane_sum(sum);
    }
}

#include "index/engine/kernels_counts.h"
#include "index/engine/kernels_ranks.h"

constexpr Kernels kTable{HEARWOOD_KERNEL_NAME,
                         kLanes,
                         kOrder,
                         kCellOrder,
                         window_samples<std::int16_t>,
                         window_samples<float>,
                         apply_window<std::int16_t>,
                         apply_window<float>,
                         sum_cells,
                         keep_cells,
                         turn_powers,
                         find_up,
                         greatest_sum,
                         sum_bands,
                         count_columns<1>,
                         count_columns<kSearchLimits>,
                         cells_between,
                         count_values_below,
                         values_between,
                         value_of_few,
                         rank_block,
                         medians_of_seven};

// NOLINTEND(bugprone-implicit-widening-of-multiplication-result)

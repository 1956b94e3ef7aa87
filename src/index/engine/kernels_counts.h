// Part of kernels_body.h, which includes it inside its namespace: nothing is included here.

// ---- background

/// Counts for kLimits limits a column at once, so that every row is loaded once for all of them.
template <int kLimits>
void count_columns(const std::int16_t* cells, int rows, int every, const std::int16_t* limits,
                   std::int32_t* counts) {
    constexpr int kMostRows = 32767;  // what a 16-bit lane can count
    constexpr int kColumns = 2 * kLanes;
    Cells limit[kLimits];
    for (int n = 0; n < kLimits; ++n) limit[n] = load<Cells>(limits + n * kColumns);
    for (int i = 0; i < kLimits * kColumns; ++i) counts[i] = 0;
    const std::size_t stride = static_cast<std::size_t>(every) * kColumns;
    for (int row = 0; row < rows;) {
        const int end = rows - row < kMostRows ? rows : row + kMostRows;
        Cells count[kLimits] = {};
        for (; row < end; ++row, cells += stride) {
            const Cells row_cells = load<Cells>(cells);
            for (int n = 0; n < kLimits; ++n) count[n] -= row_cells < limit[n];
        }
        for (int n = 0; n < kLimits; ++n) {
            for (int i = 0; i < kColumns; ++i) counts[n * kColumns + i] += count[n][i];
        }
    }
}

/// Two bits a lane, from the first on; where the processor has none of its own, one after another.
inline unsigned pairs_of(Cells truth) {
#if defined(__AVX2__)
    return static_cast<unsigned>(_mm256_movemask_epi8(reinterpret_cast<__m256i>(truth)));
#elif defined(__SSE2__)
    return static_cast<unsigned>(_mm_movemask_epi8(reinterpret_cast<__m128i>(truth)));
#else
    unsigned bits = 0;
    for (int i = 0; i < 2 * kLanes; ++i) bits |= truth[i] != 0 ? 3U << 2 * i : 0U;
    return bits;
#endif
}

int cells_between(const std::int16_t* cells, int rows, const std::int16_t* low,
                  const std::int16_t* last, std::int32_t* found) {
    constexpr int kColumns = 2 * kLanes;
    constexpr unsigned kFirstOfPairs = 0x55555555U >> (32 - 2 * kColumns);
    const Cells lows = load<Cells>(low), lasts = load<Cells>(last);
    int count = 0;
    for (int row = 0; row < rows; ++row, cells += kColumns) {
        const Cells c = load<Cells>(cells);
        unsigned inside = ~pairs_of((c < lows) | (c > lasts)) & kFirstOfPairs;
        for (; inside != 0; inside &= inside - 1)
            found[count++] = row * kColumns + __builtin_ctz(inside) / 2;
    }
    return count;
}

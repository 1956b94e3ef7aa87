// Part of kernels_body.h, which includes it inside its namespace: nothing is included here.

// ---- sound events: 20 ns a frame to turn, 20 to look for what is up, 80 where something is

constexpr int kTurned = 8;  // frames

#if HEARWOOD_LANES == 8
inline void turn_square(const float* from, std::size_t stride, const std::size_t* row,
                        float* rows) {
    Floats v[8], a[8], b[8];
    for (int i = 0; i < 8; ++i) v[i] = load<Floats>(from + stride * i);
    for (int i = 0; i < 4; ++i) {
        a[2 * i] = _mm256_unpacklo_ps(v[2 * i], v[2 * i + 1]);
        a[2 * i + 1] = _mm256_unpackhi_ps(v[2 * i], v[2 * i + 1]);
    }
    for (int i = 0; i < 8; i += 4) {
        b[i] = _mm256_shuffle_ps(a[i], a[i + 2], _MM_SHUFFLE(1, 0, 1, 0));
        b[i + 1] = _mm256_shuffle_ps(a[i], a[i + 2], _MM_SHUFFLE(3, 2, 3, 2));
        b[i + 2] = _mm256_shuffle_ps(a[i + 1], a[i + 3], _MM_SHUFFLE(1, 0, 1, 0));
        b[i + 3] = _mm256_shuffle_ps(a[i + 1], a[i + 3], _MM_SHUFFLE(3, 2, 3, 2));
    }
    for (int i = 0; i < 4; ++i) {
        const Floats low = _mm256_permute2f128_ps(b[i], b[i + 4], 0x20);
        const Floats high = _mm256_permute2f128_ps(b[i], b[i + 4], 0x31);
        store(rows + row[i], low);
        store(rows + row[i + 4], high);
    }
}
#else
inline void turn_square(const float* from, std::size_t stride, const std::size_t* row,
                        float* rows) {
    for (int i = 0; i < kLanes; ++i)
        for (int f = 0; f < kTurned; ++f) rows[row[i] + f] = from[stride * f + i];
}
#endif

void turn_powers(const float* powers, std::size_t power_stride, const TurnTerms& terms,
                 float* rows) {
    for (int t = 0; t < terms.terms; ++t)
        turn_square(powers + terms.slot[t], power_stride, terms.row + kLanes * t, rows);
}

/// The lanes that are true, from the first on as bits.
inline unsigned bits_of(Ints truth) {
#if defined(__AVX2__)
    return static_cast<unsigned>(_mm256_movemask_ps(reinterpret_cast<__m256>(truth)));
#else
    unsigned bits = 0;
    for (int i = 0; i < kLanes; ++i) bits |= truth[i] != 0 ? 1U << i : 0U;
    return bits;
#endif
}

/// E of a bin in L frames, summed with the frames before and after each.
inline Floats three_frames(const float* row) {
    return (load<Floats>(row - 1) + load<Floats>(row)) + load<Floats>(row + 1);
}

/// The median of each block, in L frames side by side.
inline void block_medians(const RiseSearch& search, const Floats* rise, Floats* medians) {
    for (int b = 0; b < search.blocks; ++b) {
        Floats sorted[kMostRiseBlock];
        for (int i = 0; i < search.block; ++i) sorted[i] = rise[b * search.block + i];
        for (int s = 0; s < search.swap_count; ++s) {
            Floats& low = sorted[search.swaps[2 * s]];
            Floats& high = sorted[search.swaps[2 * s + 1]];
            const Floats a = low, c = high;
            low = a < c ? a : c;
            high = a < c ? c : a;
        }
        medians[b] = sorted[search.block / 2];
    }
}

/// L frames from `first` on. False when no cell is up.
bool find_up_lanes(const RiseSearch& search, std::ptrdiff_t first, int shift, std::uint8_t* up) {
    Floats rise[kMostRiseBins];
    const float* row = search.rows + first;
    const Floats least = all(search.least_rise);
    Floats here = three_frames(row), below = here;
    Ints any{};
    for (int k = 0; k < search.bins; ++k) {
        const bool last = k + 1 == search.bins;
        const Floats above = last ? here : three_frames(row + search.row_stride);
        rise[k] = ((below + here) + above) * all(search.to_rise[k]);
        any |= rise[k] >= least;
        below = here;
        here = above;
        row += search.row_stride;
    }
    if (bits_of(any) == 0) return false;
    Floats medians[kMostRiseBlocks];
    block_medians(search, rise, medians);
    unsigned found = 0;
    for (int k = 0; k < search.bins; ++k) {
        const int b = search.block_of[k];
        const Floats lift = medians[b] + (medians[b + 1] - medians[b]) * all(search.share_above[k]);
        const unsigned bits = bits_of(rise[k] >= least * larger(lift, all(1)));
        found |= bits;
        up[k] = static_cast<std::uint8_t>(up[k] | (bits << shift));
    }
    return found != 0;
}

bool find_up(const RiseSearch& search, std::ptrdiff_t first, std::uint8_t* up) {
    bool found = false;
    for (int k = 0; k < search.bins; ++k) up[k] = 0;
    for (int shift = 0; shift < kTurned; shift += kLanes)
        found |= find_up_lanes(search, first + shift, shift, up);
    return found;
}

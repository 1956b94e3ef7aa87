// Part of kernels_body.h, which includes it inside its namespace: nothing is included here.

// ---- sound events

#if HEARWOOD_LANES == 8
inline void turn_square(const float* from, std::size_t stride, const std::size_t* at, float* tile) {
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
        store(tile + at[i], low);
        store(tile + at[i + 4], high);
    }
}
#else
inline void turn_square(const float* from, std::size_t stride, const std::size_t* at, float* tile) {
    for (int i = 0; i < kLanes; ++i)
        for (int f = 0; f < kTileFrames; ++f) tile[at[i] + f] = from[stride * f + i];
}
#endif

void turn_powers(const float* powers, std::size_t power_stride, const TurnTerms& terms,
                 float* tile) {
    for (int t = 0; t < terms.terms; ++t)
        turn_square(powers + terms.slot[t], power_stride, terms.at + kLanes * t, tile);
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

/// E of a bin in L frames of a tile, from frame `from` on, summed with the frames before and after
/// each.
inline Floats three_frames(const float* frames, std::size_t tile_stride, int from) {
    const Floats here = load<Floats>(frames + from);
#if HEARWOOD_LANES == 8
    const auto before = load<Floats>(frames - tile_stride),
               after = load<Floats>(frames + tile_stride);
    const auto early = reinterpret_cast<__m256i>(_mm256_permute2f128_ps(before, here, 0x21));
    const auto late = reinterpret_cast<__m256i>(_mm256_permute2f128_ps(here, after, 0x21));
    const auto in_bytes = reinterpret_cast<__m256i>(here);
    return (reinterpret_cast<Floats>(_mm256_alignr_epi8(in_bytes, early, 12)) + here) +
           reinterpret_cast<Floats>(_mm256_alignr_epi8(late, in_bytes, 4));
#else
    if (from == 0) {
        const auto before = load<Floats>(frames - tile_stride + kTileFrames - kLanes);
        return (__builtin_shufflevector(before, here, 3, 4, 5, 6) + here) +
               load<Floats>(frames + 1);
    }
    const auto after = load<Floats>(frames + tile_stride);
    return (load<Floats>(frames + from - 1) + here) +
           __builtin_shufflevector(here, after, 1, 2, 3, 4);
#endif
}

/// Puts the smaller of two first, lane by lane.
inline void order(Floats& low, Floats& high) {
    const Floats a = low, b = high;
    low = smaller(a, b);
    high = larger(b, a);
}

/// The network as straight code, most of it in registers.
template <int kPlaces, std::size_t... kPair>
inline Floats median_of(const Floats* values, std::index_sequence<kPair...>) {
    constexpr MedianNetwork kNetwork = median_network(kPlaces);
    Floats v[kPlaces];
    for (int i = 0; i < kPlaces; ++i) v[i] = values[i];
    (order(v[kNetwork.pairs[kPair].low], v[kNetwork.pairs[kPair].high]), ...);
    return v[kPlaces / 2];
}

template <int kPlaces>
Floats median_of(const Floats* values) {
    return median_of<kPlaces>(values, std::make_index_sequence<median_network(kPlaces).count>());
}

/// The median of block b, in L frames side by side. At nearly every rate a block has 20 to 22 bins.
inline Floats block_median(const RiseSearch& search, const Floats* rise, int b) {
    const Floats* values = rise + b * search.block;
    if (search.block == 20) return median_of<20>(values);
    if (search.block == 21) return median_of<21>(values);
    if (search.block == 22) return median_of<22>(values);
    Floats sorted[kMostRiseBlock];
    for (int i = 0; i < search.block; ++i) sorted[i] = values[i];
    for (int n = 0; n < search.network->count; ++n)
        order(sorted[search.network->pairs[n].low], sorted[search.network->pairs[n].high]);
    return sorted[search.block / 2];
}

/// The rises of L frames of a tile, bin by bin; bit b of what it returns: in block b, or in the
/// bins that are left behind the whole blocks, one is large enough for a cell that is up.
inline unsigned find_rises(const RiseSearch& search, const float* tile, int from, Floats* rise) {
    const Floats least = all(search.least_rise);
    Floats here = three_frames(tile, search.tile_stride, from), below = here;
    unsigned large = 0;
    for (int b = 0, k = 0; k < search.bins; ++b) {
        const int end = k + search.block < search.bins ? k + search.block : search.bins;
        Ints any{};
        for (; k < end; ++k) {
            tile += kTileFrames;
            const Floats above =
                k + 1 < search.bins ? three_frames(tile, search.tile_stride, from) : here;
            __builtin_prefetch(tile + 2 * search.tile_stride);
            rise[k] = ((below + here) + above) * all(search.to_rise[k]);
            any |= rise[k] >= least;
            below = here;
            here = above;
        }
        large |= (bits_of(any) != 0 ? 1U : 0U) << b;
    }
    return large;
}

void find_up_lanes(const RiseSearch& search, const float* tile, int from, std::uint64_t* up,
                   std::size_t up_stride, int shift) {
    Floats rise[kMostRiseBins], medians[kMostRiseBlocks];
    const Floats least = all(search.least_rise);
    unsigned known = 0;  // a bit a median
    for (unsigned large = find_rises(search, tile, from, rise); large != 0; large &= large - 1) {
        // A bin lies between the centre of its own block and that of a neighbour.
        const int block = __builtin_ctz(large), last = search.blocks - 1;
        const int centre = block < last ? block : last;
        for (int b = centre > 0 ? centre - 1 : 0; b <= centre + 1 && b <= last; ++b) {
            if ((known >> b & 1U) == 0) medians[b] = block_median(search, rise, b);
            known |= 1U << b;
        }
        const int begin = block * search.block;
        for (int k = begin; k < begin + search.block && k < search.bins; ++k) {
            const int b = search.block_of[k];
            const Floats lift =
                medians[b] + (medians[b + 1] - medians[b]) * all(search.share_above[k]);
            const unsigned bits = bits_of(rise[k] >= least * larger(lift, all(1)));
            if (bits != 0)
                up[up_stride * static_cast<std::size_t>(k)] |= std::uint64_t{bits} << shift;
        }
    }
}

void find_up(const RiseSearch& search, std::size_t tile, std::uint64_t* up, std::size_t up_stride,
             int shift) {
    for (int from = 0; from < kTileFrames; from += kLanes)
        find_up_lanes(search, search.tiles + search.tile_stride * tile, from, up, up_stride,
                      shift + from);
}

float greatest_sum(const RiseSearch& search, int bin, int first, int last) {
    Floats most{};
    const std::ptrdiff_t below = bin > 0 ? -kTileFrames : 0;
    const std::ptrdiff_t above = bin + 1 < search.bins ? kTileFrames : 0;
    for (int tile = first / kTileFrames; tile * kTileFrames < last; ++tile) {
        const float* here = search.tiles + search.tile_stride * tile + kTileFrames * bin;
        for (int from = 0; from < kTileFrames; from += kLanes) {
            const Floats sum = (three_frames(here + below, search.tile_stride, from) +
                                three_frames(here, search.tile_stride, from)) +
                               three_frames(here + above, search.tile_stride, from);
            Ints frame{};
            for (int i = 0; i < kLanes; ++i) frame[i] = tile * kTileFrames + from + i;
            const Ints inside = (frame >= first) & (frame < last);
            most = larger(reinterpret_cast<Floats>(reinterpret_cast<Ints>(sum) & inside), most);
        }
    }
    return static_cast<float>(lane_max(most));
}

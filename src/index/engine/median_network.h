// Which pairs of places to put in order, one after another, to bring the median of a block to the
// middle: Batcher's odd-even merge sort (1968) less what that one place does not need. No branch
// depends on a value, so that many blocks can be done side by side.
#pragma once

#include <cstdint>

namespace hearwood {

struct MedianNetwork {
    static constexpr int kMostPlaces = 32;
    static constexpr int kMostPairs = 191;  ///< of the whole sort of 32

    struct Pair {
        std::int16_t low, high;  ///< places of what will be the smaller and the larger
    };
    Pair pairs[kMostPairs] = {};
    int count = 0;
};

/// Brings the element of rank places / 2 to its place. REQUIRES: 1 <= places <= kMostPlaces.
constexpr MedianNetwork median_network(int places) {
    // Of the sort of the next power of two. The places beyond would hold what is larger than
    // everything, so pairs that reach there change nothing.
    int size = 1;
    while (size < places) size *= 2;
    MedianNetwork sort;
    for (int p = 1; p < size; p *= 2)
        for (int k = p; k >= 1; k /= 2)
            for (int j = k % p; j + k < size; j += 2 * k)
                for (int i = 0; i < k; ++i)
                    if ((i + j) / (2 * p) == (i + j + k) / (2 * p) && i + j + k < places)
                        sort.pairs[sort.count++] = {static_cast<std::int16_t>(i + j),
                                                    static_cast<std::int16_t>(i + j + k)};
    bool needed[MedianNetwork::kMostPlaces] = {}, kept[MedianNetwork::kMostPairs] = {};
    needed[places / 2] = true;
    for (int n = sort.count - 1; n >= 0; --n) {
        const MedianNetwork::Pair& pair = sort.pairs[n];
        kept[n] = needed[pair.low] || needed[pair.high];
        if (kept[n]) needed[pair.low] = needed[pair.high] = true;
    }
    MedianNetwork network;
    for (int n = 0; n < sort.count; ++n)
        if (kept[n]) network.pairs[network.count++] = sort.pairs[n];
    return network;
}

}  // namespace hearwood

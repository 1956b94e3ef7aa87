// Part of kernels_body.h, which includes it inside its namespace: nothing is included here.

// ---- ranks, by counting: no branch depends on a value

int count_values_below(const float* values, int count, float limit) {
    const Floats limits = all(limit);
    Ints a{}, b{}, c{}, d{};
    int n = 0;
    for (; n + 4 * kLanes <= count; n += 4 * kLanes) {
        a -= load<Floats>(values + n) < limits;
        b -= load<Floats>(values + n + kLanes) < limits;
        c -= load<Floats>(values + n + 2 * kLanes) < limits;
        d -= load<Floats>(values + n + 3 * kLanes) < limits;
    }
    const Ints below = (a + b) + (c + d);
    int total = 0;
    for (int i = 0; i < kLanes; ++i) total += below[i];
    for (; n < count; ++n) total += values[n] < limit ? 1 : 0;
    return total;
}

int values_between(const float* values, int count, float low, float high, float* out) {
    const Floats lows = all(low), highs = all(high);
    int found = 0, n = 0;
    for (; n + kLanes <= count; n += kLanes) {
        const Floats v = load<Floats>(values + n);
        for (unsigned bits = bits_of((v >= lows) & (v < highs)); bits != 0; bits &= bits - 1)
            out[found++] = values[n + __builtin_ctz(bits)];
    }
    for (; n < count; ++n)
        if (values[n] >= low && values[n] < high) out[found++] = values[n];
    return found;
}

/// The values that are true, 0 for the rest.
inline Floats where(Ints truth, Floats values) {
    return reinterpret_cast<Floats>(reinterpret_cast<Ints>(values) & truth);
}

void value_of_few(const float* values, int count, int rank, float* value, float* next) {
    Floats at_rank{}, behind{};
    for (int n = 0; n < count; n += 2 * kLanes) {
        const Floats a = load<Floats>(values + n), b = load<Floats>(values + n + kLanes);
        Ints below_a{}, below_b{};
        for (int other = 0; other < count; ++other) {
            const Floats v = all(values[other]);
            below_a -= v < a;
            below_b -= v < b;
        }
        at_rank = larger(where(below_a <= rank, a), at_rank);
        at_rank = larger(where(below_b <= rank, b), at_rank);
        behind = larger(where(below_a <= rank + 1, a), behind);
        behind = larger(where(below_b <= rank + 1, b), behind);
    }
    *value = static_cast<float>(lane_max(at_rank));
    *next = static_cast<float>(lane_max(behind));
}

/// Four rows side by side, so that each of the others is loaded once for all four.
void rank_block(const float* rows, int count, RankedBlock* block) {
    constexpr int kSide = 4;
    for (int row = 0; row < count; ++row) block->above[row] = 0;
    for (int first = 0; first < kRankedColumns; first += kLanes) {
        Floats low{}, high{};
        for (int row = 0; row < count; row += kSide) {
            Floats value[kSide];
            Ints below[kSide] = {};
            for (int s = 0; s < kSide; ++s) {
                const int at = row + s < count ? row + s : count - 1;
                value[s] = load<Floats>(rows + at * kRankedColumns + first);
            }
            for (int other = 0; other < count; ++other) {
                const Floats v = load<Floats>(rows + other * kRankedColumns + first);
                for (int s = 0; s < kSide; ++s) below[s] -= v < value[s];
            }
            for (int s = 0; s < kSide && row + s < count; ++s) {
                low = larger(where(below[s] <= (count - 1) / 2, value[s]), low);
                high = larger(where(below[s] <= count / 2, value[s]), high);
                const unsigned above = bits_of(below[s] >= (count + 1) / 2);
                block->above[row + s] =
                    static_cast<std::uint8_t>(block->above[row + s] + __builtin_popcount(above));
            }
        }
        store(block->low_median + first, low);
        store(block->high_median + first, high);
    }
}

void medians_of_seven(const float* rows, int stride, int count, const float* divisors,
                      float* medians) {
    for (int n = 0; n < count; n += kLanes) {
        Floats ratios[7];
        for (int r = 0; r < 7; ++r)
            ratios[r] = load<Floats>(rows + r * stride + n) / all(divisors[r]);
        store(medians + n, median_of<7>(ratios));
    }
}

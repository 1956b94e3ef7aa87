#include "index/engine/rank.h"

#include <cstdint>

#include "index/engine/kernels.h"
#include "platform/bits.h"

namespace hearwood {

// Floats that are not negative sort like their bits, so the value's bits are found one by one from
// the top: a bit is set if no more than `rank` values are below the number with that bit set.
// Counting is a kernel of vector code, and 31 counts are faster than any clever selection.
float value_of_rank(std::span<const float> values, std::size_t rank) {
    const auto count_below = kernels(CpuPath::best).count_values_below;
    std::uint32_t found = 0;
    for (std::uint32_t bit = 1U << 30; bit != 0; bit >>= 1) {
        const float limit = bit_cast<float>(found | bit);
        const int below = count_below(values.data(), static_cast<int>(values.size()), limit);
        if (static_cast<std::size_t>(below) <= rank) found |= bit;
    }
    return bit_cast<float>(found);
}

}  // namespace hearwood

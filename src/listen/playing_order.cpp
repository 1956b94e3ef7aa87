#include "listen/playing_order.h"

#include <algorithm>
#include <numeric>

#include "statistics/random.h"

namespace hearwood {

std::vector<std::size_t> playing_order(std::size_t count, std::size_t repeats, Random& random) {
    std::vector<std::size_t> order(count);
    std::iota(order.begin(), order.end(), std::size_t{0});
    const std::size_t first_half = count / 2;
    std::size_t left = std::min(repeats, first_half);
    const auto distance = static_cast<std::ptrdiff_t>((count + left) / 3);
    for (std::size_t place = 0; place < first_half && left > 0; ++place) {
        if (random.below(first_half - place) >= left) continue;  // exactly `left` of what remains
        --left;
        // Repeats inserted before it have moved it; those still to come can only widen the
        // distance.
        const auto earliest = std::find(order.begin(), order.end(), place) + 1 + distance;
        const auto choices = static_cast<std::uint64_t>(order.end() - earliest + 1);
        order.insert(earliest + static_cast<std::ptrdiff_t>(random.below(choices)), place);
    }
    return order;
}

}  // namespace hearwood

#include <algorithm>
#include <numeric>

#include "base/missing.h"
#include "contrast/contrast.h"

namespace hearwood {

std::vector<double> holm_adjusted(std::span<const double> p) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < p.size(); ++i)
        if (!is_missing(p[i])) order.push_back(i);
    std::stable_sort(order.begin(), order.end(), [&](auto x, auto y) { return p[x] < p[y]; });
    std::vector<double> adjusted(p.size(), kMissing);
    double running = 0;
    for (std::size_t rank = 0; rank < order.size(); ++rank) {
        const double left = static_cast<double>(order.size() - rank);
        running = std::max(running, std::min(1.0, left * p[order[rank]]));
        adjusted[order[rank]] = running;
    }
    return adjusted;
}

}  // namespace hearwood

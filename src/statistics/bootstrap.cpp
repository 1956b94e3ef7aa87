#include "statistics/bootstrap.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <vector>

#include "base/missing.h"
#include "statistics/quantile.h"
#include "statistics/random.h"

namespace hearwood {

Bootstrapped bootstrap_sites(std::span<const std::size_t> sites, std::uint64_t seed,
                             const std::function<double(std::span<const std::size_t>)>& statistic) {
    std::vector<std::size_t> all(sites.size());
    std::iota(all.begin(), all.end(), std::size_t{0});
    std::map<std::size_t, std::vector<std::size_t>> by_site;
    for (std::size_t i = 0; i < sites.size(); ++i) by_site[sites[i]].push_back(i);
    std::vector<const std::vector<std::size_t>*> groups;
    for (const auto& [site, things] : by_site) groups.push_back(&things);

    Bootstrapped result{statistic(all), kMissing, kMissing, static_cast<int>(groups.size())};
    if (groups.size() < 3) return result;
    Random random(seed, "listening bootstrap");
    std::vector<double> values;
    std::vector<std::size_t> chosen;
    for (int draw = 0; draw < kBootstrapDraws; ++draw) {
        chosen.clear();
        for (std::size_t i = 0; i < groups.size(); ++i) {
            const auto& things = *groups[random.below(groups.size())];
            chosen.insert(chosen.end(), things.begin(), things.end());
        }
        const double value = statistic(chosen);
        if (!is_missing(value)) values.push_back(value);
    }
    if (static_cast<int>(values.size()) * 2 < kBootstrapDraws) return result;
    result.low = quantile(values, 0.025);
    result.high = quantile(values, 0.975);
    return result;
}

void widen_unanimous(Bootstrapped& share, int count) {
    if (count < 1 || is_missing(share.low) || share.low != share.high) return;
    const double least = std::pow(0.025, 1.0 / count);
    if (share.value == 1) share.low = std::min(share.low, least);
    if (share.value == 0) share.high = std::max(share.high, 1 - least);
}

}  // namespace hearwood

// Intervals by drawing whole sites with replacement: clips of a site are not independent, sites
// are.
#pragma once

#include <cstdint>
#include <functional>
#include <span>

namespace hearwood {

inline constexpr int kBootstrapDraws = 2000;

struct Bootstrapped {
    double value = 0;  ///< of the sample itself
    double low = 0,
           high =
               0;  ///< 2.5 and 97.5 % of the draws that have a value; NaN when fewer than half have
    int sites = 0;
};

/// `sites[i]` is the site of thing i; `statistic` takes places of things (a site drawn twice gives
/// its things twice) and may return NaN. Below 3 sites there is no interval. The same seed gives
/// the same interval.
Bootstrapped bootstrap_sites(std::span<const std::size_t> sites, std::uint64_t seed,
                             const std::function<double(std::span<const std::size_t>)>& statistic);

/// The 95 % interval of a share when all of `count` things agree, where drawing sites again shows
/// no spread: exact, and one-sided by its nature (Clopper & Pearson 1934): 1 becomes
/// (0.025)^(1/count) to 1, 0 becomes 0 to 1 - (0.025)^(1/count). Leaves every other share alone.
void widen_unanimous(Bootstrapped& share, int count);

}  // namespace hearwood

#include "listen/sample.h"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "listen/lowest.h"
#include "statistics/random.h"

namespace hearwood {
namespace {

/// A number that nothing but the seed, the purpose and the candidate's name decides.
std::uint64_t lot(std::uint64_t seed, std::string_view purpose, const Candidate& candidate) {
    return Random(seed ^ candidate.name, purpose).next();
}

template <typename T>
void shuffle(std::vector<T>& things, Random& random) {
    for (std::size_t i = things.size(); i > 1; --i)
        std::swap(things[i - 1], things[random.below(i)]);
}

/// A place in the order of a site's window: the value, and a lot among equal values. The lot is not
/// the one that is drawn by: where thirds lie must not hang on what is drawn.
using Rank = std::pair<double, std::uint64_t>;

Rank rank_of(std::uint64_t seed, const Candidate& candidate) {
    return {candidate.index, lot(seed, "listening thirds", candidate)};
}

/// The kept segments of one site and window.
struct Group {
    std::size_t size = 0;
    Lowest<std::uint64_t, double> ranked{kRankedSegments};
    std::array<Rank, 2> limits;  ///< where the middle and the high third begin

    void settle() {
        std::vector<Rank> ranks;
        for (const auto& [chance, value] : ranked.take()) ranks.emplace_back(value, chance);
        std::sort(ranks.begin(), ranks.end());
        for (std::size_t i = 0; i < 2; ++i) limits[i] = ranks[ranks.size() * (i + 1) / 3];
    }
    int third_of(const Rank& rank) const { return (rank >= limits[0]) + (rank >= limits[1]); }
};

/// One third of a group: how many it holds, and those drawn first.
struct Stratum {
    std::size_t size = 0;
    int third = 0;
    Lowest<std::uint64_t, Candidate> first;
};

using GroupName = std::pair<std::size_t, int>;  // site, window

/// What the first pass leaves behind.
struct Groups {
    std::map<GroupName, Group> kept;
    std::size_t excluded = 0;

    Groups(const CandidateSource& candidates, std::uint64_t seed) {
        candidates([&](const Candidate& candidate) {
            if (!candidate.kept) {
                ++excluded;
                return;
            }
            Group& group = kept[{candidate.site, candidate.window}];
            ++group.size;
            const auto [value, chance] = rank_of(seed, candidate);
            group.ranked.add(chance, value);
        });
        for (auto& [name, group] : kept) group.settle();
    }
};

/// How many clips each site gets: as even as its segments allow, what is left over by lot.
std::map<std::size_t, std::size_t> share_out_clips(const Groups& groups, std::size_t count,
                                                   Random& random) {
    std::map<std::size_t, std::size_t> shares, room;
    for (const auto& [name, group] : groups.kept) room[name.first] += group.size;
    std::vector<std::size_t> order;
    for (const auto& [site, size] : room) {
        order.push_back(site);
        shares[site] = 0;
    }
    shuffle(order, random);
    for (bool moved = true; count > 0 && moved;) {
        moved = false;
        for (const std::size_t site : order) {
            if (count == 0 || shares[site] >= room[site]) continue;
            ++shares[site];
            --count;
            moved = true;
        }
    }
    return shares;
}

/// How many clips a stratum of `size` segments gets on average when `share` clips go round: full
/// turns give each stratum one while it lasts, the last turn reaches some of those that have more
/// left, each as likely as the other.
double expected_clips(const std::vector<Stratum>& strata, std::size_t share, std::size_t size) {
    std::size_t turns = 0, wanting = strata.size();
    while (wanting > 0 && share >= wanting) {
        share -= wanting;
        ++turns;
        wanting = static_cast<std::size_t>(
            std::count_if(strata.begin(), strata.end(),
                          [&](const Stratum& stratum) { return stratum.size > turns; }));
    }
    if (size <= turns) return static_cast<double>(size);
    return static_cast<double>(turns) + static_cast<double>(share) / static_cast<double>(wanting);
}

/// One clip from each stratum in turn until the site has its share. `factor`: sites for each one
/// that got any clip.
void draw_site(std::vector<Stratum> strata, std::size_t share, double factor, Random& random,
               std::vector<DrawnClip>& drawn) {
    shuffle(strata, random);
    std::vector<std::vector<std::pair<std::uint64_t, Candidate>>> lots;
    std::vector<double> weights;
    for (Stratum& stratum : strata) {
        weights.push_back(factor * static_cast<double>(stratum.size) /
                          expected_clips(strata, share, stratum.size));
        lots.push_back(stratum.first.take());
    }
    for (std::size_t turn = 0; share > 0; ++turn)
        for (std::size_t s = 0; s < strata.size() && share > 0; ++s) {
            if (turn >= strata[s].size) continue;
            drawn.push_back({lots[s][turn].second, strata[s].third, weights[s]});
            --share;
        }
}

}  // namespace

std::vector<DrawnClip> draw_sample(const CandidateSource& candidates, int count, int screened,
                                   std::uint64_t seed) {
    const auto wanted = static_cast<std::size_t>(std::max(count, 0)),
               wanted_excluded = static_cast<std::size_t>(std::max(screened, 0));
    const Groups groups(candidates, seed);
    Random random(seed, "listening sample");
    const auto shares = share_out_clips(groups, wanted, random);

    std::map<std::size_t, std::map<std::pair<int, int>, Stratum>> sites;  // by window and third
    Lowest<std::uint64_t, Candidate> excluded(wanted_excluded);
    candidates([&](const Candidate& candidate) {
        const std::uint64_t chance = lot(seed, "listening draw", candidate);
        if (!candidate.kept) {
            excluded.add(chance, candidate);
            return;
        }
        const std::size_t share = shares.at(candidate.site);
        if (share == 0) return;
        const int third =
            groups.kept.at({candidate.site, candidate.window}).third_of(rank_of(seed, candidate));
        auto& strata = sites[candidate.site];
        Stratum& stratum =
            strata
                .try_emplace({candidate.window, third},
                             Stratum{0, third, Lowest<std::uint64_t, Candidate>(share)})
                .first->second;
        ++stratum.size;
        stratum.first.add(chance, candidate);
    });

    std::vector<DrawnClip> drawn;
    const double factor = static_cast<double>(shares.size()) / static_cast<double>(sites.size());
    for (auto& [site, strata] : sites) {
        std::vector<Stratum> own;
        for (auto& [name, stratum] : strata) own.push_back(std::move(stratum));
        draw_site(std::move(own), shares.at(site), factor, random, drawn);
    }
    const auto lots = excluded.take();
    for (const auto& [chance, candidate] : lots)
        drawn.push_back({candidate, -1,
                         static_cast<double>(groups.excluded) / static_cast<double>(lots.size())});
    return drawn;
}

}  // namespace hearwood

#include "plan/spacing.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "contrast/audit.h"

namespace hearwood {

namespace {

/// A satellite fix under canopy is off by some ten metres (common practice), at both ends.
constexpr double kFixErrorM = 50;

struct OnTrail {
    std::string trail;
    std::optional<double> metres;
};

OnTrail trail_of(const Survey& survey, const Site& site) {
    return {std::string(cell_in(site, survey, "trail")), number_in(site, survey, "trail_m")};
}

bool is_near(const SitePair& pair, double distance) {
    return pair.metres < distance || (pair.trail_metres && *pair.trail_metres < distance);
}

Problem warning(const Site& site, std::string what, std::string fix) {
    return {.file = "sites.csv",
            .line = site.line,
            .what = std::move(what),
            .fix = std::move(fix),
            .severity = Severity::warning};
}

std::string whole_metres(double metres) {
    return fmt::format("{:.0f} m", metres);
}

}  // namespace

void for_each_pair(const Survey& survey, const std::function<void(const SitePair&)>& use) {
    std::vector<OnTrail> trails;
    for (const Site& site : survey.sites) trails.push_back(trail_of(survey, site));
    for (std::size_t a = 0; a < survey.sites.size(); ++a)
        for (std::size_t b = a + 1; b < survey.sites.size(); ++b) {
            const Site &one = survey.sites[a], &other = survey.sites[b];
            SitePair pair{a, b,
                          distance_m(one.latitude, one.longitude, other.latitude, other.longitude),
                          std::nullopt};
            if (!trails[a].trail.empty() && trails[a].trail == trails[b].trail &&
                trails[a].metres && trails[b].metres)
                pair.trail_metres = std::abs(*trails[a].metres - *trails[b].metres);
            use(pair);
        }
}

std::vector<Problem> spacing_warnings(const Survey& survey, double listening_distance_m) {
    std::vector<Problem> warnings;
    for_each_pair(survey, [&](const SitePair& pair) {
        const Site &one = survey.sites[pair.a], &other = survey.sites[pair.b];
        const std::string names = fmt::format("{} and {}", one.name, other.name);
        if (is_near(pair, listening_distance_m))
            warnings.push_back(warning(
                other,
                fmt::format("{} are {} apart{}, nearer than the listening distance of {}", names,
                            whole_metres(pair.metres),
                            pair.trail_metres ? fmt::format(" ({} along the trail)",
                                                            whole_metres(*pair.trail_metres))
                                              : "",
                            whole_metres(listening_distance_m)),
                one.stand == other.stand
                    ? "they hear the same animals and are one replicate: move one of them"
                    : "they hear the same animals, so that the classes look alike: move one of "
                      "them"));
        if (pair.trail_metres && pair.metres > *pair.trail_metres + kFixErrorM)
            warnings.push_back(warning(
                other,
                fmt::format("{} are {} apart by their coordinates, but {} along the trail", names,
                            whole_metres(pair.metres), whole_metres(*pair.trail_metres)),
                "no trail is shorter than the straight line: check latitude, longitude and "
                "trail_m"));
    });
    return warnings;
}

TableOf<SitePair> distances_table(const Survey& survey, double listening_distance_m) {
    using Pair = SitePair;
    return TableOf<Pair>("distances.csv", "distances", "A row is a pair of sites.")
        .column("site_a", "", "one site", [&](const Pair& p) { return survey.sites[p.a].name; })
        .column("site_b", "", "the other", [&](const Pair& p) { return survey.sites[p.b].name; })
        .column("stand_a", "", "stand class of the one",
                [&](const Pair& p) { return survey.sites[p.a].stand; })
        .column("stand_b", "", "stand class of the other",
                [&](const Pair& p) { return survey.sites[p.b].stand; })
        .column("straight_m", "m", "great-circle distance of their coordinates, to the metre",
                [](const Pair& p) { return std::round(p.metres); })
        .column("trail", "", "the trail that both stand on; empty: none, or unknown where on it",
                [&](const Pair& p) {
                    return p.trail_metres ? trail_of(survey, survey.sites[p.a]).trail : "";
                })
        .column("trail_m", "m", "distance along it", &Pair::trail_metres)
        .column("near", "", "1: within the listening distance, straight or along the trail",
                [listening_distance_m](const Pair& p) { return is_near(p, listening_distance_m); });
}

void write_distances(const Survey& survey, double listening_distance_m,
                     const std::filesystem::path& path) {
    TableFile<SitePair> table(distances_table(survey, listening_distance_m), path);
    for_each_pair(survey, [&](const SitePair& pair) { table.add(pair); });
    table.commit();
}

}  // namespace hearwood

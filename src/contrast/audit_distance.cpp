// Distances between sites: two recorders that hear the same animals are not two replicates.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/audit_checks.h"

namespace hearwood {

namespace {

struct Pair {
    const AuditSite *one, *other;
    double metres;
};

std::vector<Pair> pairs_of(const AuditInput& input) {
    std::vector<Pair> pairs;
    for (std::size_t i = 0; i < input.sites.size(); ++i) {
        for (std::size_t j = i + 1; j < input.sites.size(); ++j) {
            const AuditSite &one = input.sites[i], &other = input.sites[j];
            const double metres =
                distance_m(one.latitude, one.longitude, other.latitude, other.longitude);
            if (!is_missing(metres)) pairs.push_back({&one, &other, metres});
        }
    }
    return pairs;
}

void add_near(const AuditInput& input, const std::vector<Pair>& pairs, bool same_class,
              std::vector<Finding>& findings) {
    std::vector<std::string> near;
    for (const Pair& pair : pairs)
        if (pair.metres < input.settings.listening_distance_m &&
            (pair.one->stand == pair.other->stand) == same_class)
            near.push_back(fmt::format("{} and {} ({} m)", pair.one->site, pair.other->site,
                                       readable_number(pair.metres)));
    if (near.empty()) return;
    findings.push_back(
        {same_class ? Severity::serious : Severity::doubt,
         same_class ? FindingCode::same_class_near : FindingCode::other_class_near,
         {},
         fmt::format("Nearer than the listening distance of {} m: {}. {}",
                     readable_number(input.settings.listening_distance_m), join(near, ", "),
                     same_class ? "Both hear the same animals, so they are one site and p is too "
                                  "small (pseudoreplication)."
                                : "Sites of both classes hear the same animals, so a true "
                                  "difference shrinks."),
         same_class ? "Give both deployments one site name in the sheets, or say why they are two."
                    : "Move one of them, or leave it out."});
}

/// All sites of each class nearer to each other than any to one of the other class.
void add_clumps(const std::vector<Pair>& pairs, std::vector<Finding>& findings) {
    double farthest_within = 0, nearest_between = std::numeric_limits<double>::infinity();
    int within = 0, between = 0;
    for (const Pair& pair : pairs) {
        if (pair.one->stand == pair.other->stand) {
            farthest_within = std::max(farthest_within, pair.metres);
            ++within;
        } else {
            nearest_between = std::min(nearest_between, pair.metres);
            ++between;
        }
    }
    if (within < 2 || between < 4 || farthest_within >= nearest_between) return;
    findings.push_back(
        {Severity::serious,
         FindingCode::clumped,
         {},
         fmt::format("The sites of each class lie within {} m, the classes at least {} m apart. "
                     "The survey compares two places; whatever else differs between them looks "
                     "like the stand.",
                     readable_number(farthest_within), readable_number(nearest_between)),
         "Spread the sites of both classes over the same places, and name the place as the "
         "block."});
}

}  // namespace

double distance_m(double latitude_1, double longitude_1, double latitude_2, double longitude_2) {
    constexpr double kRadius = 6'371'008.8;  // mean radius of the Earth, IUGG
    constexpr double kRadians = std::numbers::pi / 180;
    const double half_lat = std::sin((latitude_2 - latitude_1) * kRadians / 2);
    const double half_lon = std::sin((longitude_2 - longitude_1) * kRadians / 2);
    const double chord = half_lat * half_lat + std::cos(latitude_1 * kRadians) *
                                                   std::cos(latitude_2 * kRadians) * half_lon *
                                                   half_lon;
    return 2 * kRadius * std::asin(std::min(1.0, std::sqrt(chord)));
}

void check_distances(const AuditInput& input, std::vector<Finding>& findings) {
    const std::vector<Pair> pairs = pairs_of(input);
    add_near(input, pairs, true, findings);
    add_near(input, pairs, false, findings);
    add_clumps(pairs, findings);
}

}  // namespace hearwood

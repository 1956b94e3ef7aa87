// How often the tests call classes different that are not, as the table of docs/statistics.md has
// it: null surveys with unequal spread, unequal effort and clustered sites. The numbers are the
// same on every machine.
//   contrast_rates [PAGE]    prints the table; with PAGE, fails unless it stands there
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "base/file.h"
#include "cases.h"
#include "contrast/audit.h"
#include "statistics/family.h"
#include "statistics/random.h"
#include "statistics/timed_values.h"
#include "statistics/unequal.h"

namespace hearwood {
namespace {

constexpr int kSets = 10'000;
constexpr double kLevel = 0.05 + 1e-12;

/// Sites a block of each class.
struct Design {
    std::string name;
    std::vector<int> a, b;
};

Layout layout_of(const Design& design) {
    Layout layout;
    layout.block_count = static_cast<int>(design.a.size());
    for (int block = 0; block < layout.block_count; ++block)
        for (int i = 0; i < design.a[block] + design.b[block]; ++i) {
            layout.classes.push_back(i < design.a[block] ? 0 : 1);
            layout.blocks.push_back(block);
        }
    return layout;
}

/// The largest multiple of the least p up to 0.05: what an exact test rejects at without ties.
double attainable(const PairTest& test) {
    return std::floor(0.05 / test.p_min() + 1e-9) * test.p_min();
}

std::string in_percent(double share) {
    return fmt::format("{:.1f} %", 100 * share);
}

/// A line of the list: what is wrong with the surveys, what a plain answer would do, what ours
/// does.
std::string row(const std::string& surveys, const std::string& plain, int by_plain,
                const std::string& ours, int by_ours, const std::string& level) {
    return fmt::format("* {}: {} {}; {} {}; {}\n", surveys, plain,
                       in_percent(static_cast<double>(by_plain) / kSets), ours,
                       in_percent(static_cast<double>(by_ours) / kSets), level);
}

/// Standard deviation of A so many times that of B.
std::string unequal_spread(const Design& design, double ratio) {
    const PairTest test(layout_of(design), 1);
    Random random(31, design.name);
    int plain = 0, ours = 0;
    std::vector<double> values(test.layout().classes.size());
    const bool counts = !balanced(test.layout());
    for (int s = 0; s < kSets; ++s) {
        for (std::size_t i = 0; i < values.size(); ++i)
            values[i] = random.normal() * (test.layout().classes[i] == 0 ? ratio : 1) +
                        10.0 * test.layout().blocks[i];
        const double p = test.p(values), other = counts ? unequal_p(test, values) : p;
        plain += p <= kLevel;
        ours += std::max(p, std::isnan(other) ? p : other) <= kLevel;
    }
    return row(fmt::format("{}, spread {} to 1", design.name, ratio), "p alone", plain,
               counts ? "the larger p" : "p as well", ours, in_percent(attainable(test)));
}

/// Class A lacks the quarters of the dawn on half of its dates; dates and quarters differ wildly.
std::string unequal_effort() {
    const PairTest test(layout_of({"", {5}, {5}}), 1);
    Random random(32, "effort");
    int plain = 0, ours = 0;
    for (int s = 0; s < kSets; ++s) {
        std::vector<double> dates, values, means;
        for (int d = 0; d < 6; ++d) dates.push_back(2 * random.normal());
        std::vector<DatedValue> rows;
        for (int site = 0; site < 10; ++site) {
            const double own = random.normal();
            double sum = 0, count = 0;
            for (int d = 0; d < 6; ++d)
                for (int cell = 0; cell < 4; ++cell) {
                    if (site < 5 && d % 2 == 0 && cell == 3) continue;
                    const double value = own + dates[d] + (cell == 3 ? 20 : cell) + random.normal();
                    rows.push_back(
                        {fmt::format("s{}", site), std::to_string(d), std::to_string(cell), value});
                    sum += value;
                    ++count;
                }
            means.push_back(sum / count);
        }
        for (const TimedSite& site : timed_site_values(rows)) values.push_back(site.value);
        plain += test.p(means) <= kLevel;
        ours += test.p(values) <= kLevel;
    }
    return row("5 and 5 sites, A lacks its loudest quarter on every other date", "plain means",
               plain, "site values of section 1", ours, in_percent(attainable(test)));
}

/// Two recorders each in five places a class, 100 m apart; the places are 5 km apart.
std::string clustered_sites() {
    std::vector<AuditSite> sites;
    for (int i = 0; i < 20; ++i) {
        AuditSite& site = sites.emplace_back();
        site.site = fmt::format("s{:02}", i);
        site.stand = i < 10 ? "rich" : "poor";
        site.latitude = 1 + 0.05 * (i / 2) + 0.0009 * (i % 2);
        site.longitude = 113;
    }
    const auto groups = nearby_groups(sites, 250);
    const PairTest as_sites(layout_of({"", {10}, {10}}), 1, {1000, 999});
    const PairTest as_places(layout_of({"", {5}, {5}}), 1);
    Random random(33, "clusters");
    int plain = 0, ours = 0;
    for (int s = 0; s < kSets; ++s) {
        std::vector<Unit> units;
        double place = 0;
        for (std::size_t i = 0; i < sites.size(); ++i) {
            if (i % 2 == 0) place = random.normal();
            units.push_back({sites[i].site, sites[i].stand, "", place + 0.3 * random.normal()});
        }
        std::vector<double> values, of_places;
        for (const Unit& unit : units) values.push_back(unit.value);
        for (const Unit& unit : with_groups_as_one(units, groups)) of_places.push_back(unit.value);
        plain += as_sites.p(values) <= kLevel;
        ours += as_places.p(of_places) <= kLevel;
    }
    return row("2 recorders in each of 5 and 5 places", "20 sites", plain,
               "recorders that hear the same animals as one", ours,
               in_percent(attainable(as_places)));
}

/// Forty outcomes that have half of their variance in common: is any called different?
std::string many_outcomes() {
    const PairTest test(layout_of({"", {5}, {5}}), 1);
    Random random(34, "outcomes");
    int plain = 0, ours = 0;
    for (int s = 0; s < kSets; ++s) {
        std::vector<double> common(10);
        for (double& value : common) value = random.normal();
        std::vector<std::vector<double>> outcomes(40, common);
        bool any = false;
        for (std::vector<double>& outcome : outcomes) {
            for (double& value : outcome) value += random.normal();
            any = any || test.p(outcome) <= kLevel;
        }
        const std::vector<double> adjusted = family_max_t(test, outcomes).p_adjusted;
        plain += any;
        ours += *std::min_element(adjusted.begin(), adjusted.end()) <= kLevel;
    }
    return row("5 and 5 sites, 40 outcomes, any of them", "p of each", plain, "p_adjusted", ours,
               in_percent(attainable(test)));
}

std::string table() {
    return unequal_spread({"4 and 8 sites", {4}, {8}}, 3) +
           unequal_spread({"8 and 4 sites", {8}, {4}}, 3) +
           unequal_spread({"3 and 9 sites", {3}, {9}}, 10) +
           unequal_spread({"four blocks of 1 and 3", {1, 1, 1, 1}, {3, 3, 3, 3}}, 5) +
           unequal_spread({"6 and 6 sites", {6}, {6}}, 3) + unequal_effort() + clustered_sites() +
           many_outcomes();
}

}  // namespace
}  // namespace hearwood

int main(int argc, char** argv) {
    const std::string table = hearwood::table();
    fmt::print("{}", table);
    if (argc < 2) return 0;
    if (hearwood::read_whole_file(argv[1]).find(table) != std::string::npos) return 0;
    fmt::print(stderr, "{} has another table: put this one there\n", argv[1]);
    return 1;
}

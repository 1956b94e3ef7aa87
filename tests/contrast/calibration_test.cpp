// Where nothing differs, 5 % tests must reject at their exact attainable level, never above it:
// 2,000 null sets a design. `tests/contrast/soak.sh` runs ten times as many.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <string>
#include <vector>

#include "cases.h"
#include "contrast/profile.h"
#include "statistics/family.h"
#include "statistics/random.h"
#include "statistics/unequal.h"

using namespace hearwood;

namespace {

int null_sets() {
    const char* wanted = std::getenv("HEARWOOD_NULL_SETS");
    return wanted ? std::max(1, std::atoi(wanted)) : 2000;
}

struct Design {
    std::string name;
    std::vector<int> a, b;  ///< sites a block
};

Layout layout_of(const Design& design) {
    Layout layout;
    layout.block_count = static_cast<int>(design.a.size());
    for (int block = 0; block < layout.block_count; ++block) {
        for (int i = 0; i < design.a[block] + design.b[block]; ++i) {
            layout.classes.push_back(i < design.a[block] ? 0 : 1);
            layout.blocks.push_back(block);
        }
    }
    return layout;
}

using Draw = std::function<double(Random&)>;

const std::vector<std::pair<std::string, Draw>>& distributions() {
    static const std::vector<std::pair<std::string, Draw>> list{
        {"normal", [](Random& random) { return random.normal(); }},
        {"skewed", [](Random& random) { return std::exp(1.5 * random.normal()); }},
        {"heavy-tailed", [](Random& random) { return random.normal() / random.normal(); }},
    };
    return list;
}

/// Without ties p takes each multiple of its least value with equal probability, so the largest
/// multiple up to 0.05 is the level.
double attainable(const PairTest& test) {
    return std::floor(0.05 / test.p_min() + 1e-9) * test.p_min();
}

}  // namespace

TEST_CASE("the test rejects null sets at its attainable level") {
    const std::vector<Design> designs{
        {"4 and 4", {4}, {4}},
        {"5 and 3", {5}, {3}},
        {"6 and 6", {6}, {6}},
        {"three blocks of 2 and 2", {2, 2, 2}, {2, 2, 2}},
        {"unbalanced blocks", {3, 1, 2}, {1, 2, 4}},
        {"seven pairs", std::vector<int>(7, 1), std::vector<int>(7, 1)}};
    const int sets = null_sets();
    for (const Design& design : designs) {
        const PairTest test(layout_of(design), 1);
        for (const auto& [name, draw] : distributions()) {
            Random random(11, design.name + name);
            std::vector<double> values(test.layout().classes.size());
            int rejected = 0;
            for (int s = 0; s < sets; ++s) {
                for (std::size_t i = 0; i < values.size(); ++i)
                    // Blocks differ wildly; the test must not care.
                    values[i] = draw(random) + 50.0 * test.layout().blocks[i];
                rejected += test.p(values) <= 0.05 + 1e-12;
            }
            const double level = attainable(test), share = static_cast<double>(rejected) / sets;
            const double error = std::sqrt(level * (1 - level) / sets);
            INFO(design.name << ", " << name << ": " << share << " against " << level);
            CHECK(level <= 0.05);
            CHECK(std::abs(share - level) < 3.5 * error);
        }
    }
}

TEST_CASE("random permutations keep the level too") {
    const Design design{"7 and 7", {7}, {7}};
    PermutationLimits limits;
    limits.enumerate = 100;
    limits.draws = 199;
    const PairTest test(layout_of(design), 5, limits);
    Random random(12);
    const int sets = null_sets();
    int rejected = 0;
    std::vector<double> values(14);
    for (int s = 0; s < sets; ++s) {
        for (double& value : values) value = random.normal();
        rejected += test.p(values) <= 0.05 + 1e-12;
    }
    // One set of 199 permutations serves all sets here, as it does in a survey; its own luck is
    // part of the error.
    CHECK(static_cast<double>(rejected) / sets == Approx(0.05).margin(0.03));
}

TEST_CASE("the interval covers the true shift as often as it says") {
    const Design design{"4 and 5 in two blocks", {2, 2}, {3, 2}};
    const PairTest test(layout_of(design), 1);
    Random random(13);
    const int sets = null_sets();
    const double shift = 2.5;
    int covered = 0;
    std::vector<double> values(test.layout().classes.size());
    for (int s = 0; s < sets; ++s) {
        for (std::size_t i = 0; i < values.size(); ++i)
            values[i] = random.normal() + (test.layout().classes[i] == 0 ? shift : 0);
        const TestResult result = test.test(values, 0.95);
        covered += result.ci_low <= shift && shift <= result.ci_high;
    }
    const double level = 1 - attainable(test);
    CHECK(static_cast<double>(covered) / sets ==
          Approx(level).margin(3.5 * std::sqrt(level * (1 - level) / sets)));
}

TEST_CASE("the profile keeps its level over all hours together") {
    Random random(14);
    const int sets = null_sets() / 4;
    int any = 0;
    for (int s = 0; s < sets; ++s) {
        ProfileInput input;
        for (int h = 0; h < 24; ++h) input.steps.push_back(h);
        for (int i = 0; i < 8; ++i) {
            input.sites.push_back("s" + std::to_string(i));
            input.stands.push_back(i < 4 ? "rich" : "poor");
            input.blocks.emplace_back();
            std::vector<double> day;
            double level = random.normal();
            // Neighbouring hours resemble each other, and some are missing.
            for (int h = 0; h < 24; ++h) {
                level = 0.8 * level + random.normal();
                day.push_back(random.below(40) == 0 ? kMissing : level);
            }
            input.values.push_back(day);
        }
        double least = 1;
        for (const ProfileStep& step : contrast_profile(input, rich_and_poor()).steps)
            if (step.p_adjusted < least) least = step.p_adjusted;
        any += least <= 0.05 + 1e-12;
    }
    // 70 permutations; without ties of the maximum the level is 2 / 70 (4 / 70 is above 0.05).
    const double level = 2.0 / 70;
    INFO(any << " of " << sets);
    CHECK(any <= sets * level + 3.5 * std::sqrt(sets * level));
    CHECK(any >= sets * level - 3.5 * std::sqrt(sets * level));
}

TEST_CASE("max-t keeps the level over a family of correlated outcomes, and nearly uses it") {
    const Design design{"5 and 5", {5}, {5}};
    const PairTest test(layout_of(design), 1);
    Random random(15);
    const int sets = null_sets(), outcomes = 6;
    int any = 0;
    for (int s = 0; s < sets; ++s) {
        std::vector<double> common(10);
        for (double& value : common) value = random.normal();
        std::vector<std::vector<double>> values(outcomes, common);
        for (auto& outcome : values)
            for (double& value : outcome) value += random.normal();
        const std::vector<double> adjusted = family_max_t(test, values).p_adjusted;
        any += *std::min_element(adjusted.begin(), adjusted.end()) <= 0.05;
    }
    // 12 of 252 permutations is the largest even number up to 0.05.
    const double level = 12.0 / 252;
    CHECK(static_cast<double>(any) / sets ==
          Approx(level).margin(3.5 * std::sqrt(level * (1 - level) / sets)));
}

TEST_CASE("with unequal counts and spread the larger of two p stays near its level") {
    struct Case {
        Design design;
        double ratio;    ///< deviation of A over that of B
        double alone;    ///< p alone rejects at least so often
        double at_most;  ///< the larger of the two
    };
    // Rates of 20,000 sets: p alone 0.17, 0.39, 0.29; the larger 0.061, 0.050, 0.034.
    const std::vector<Case> cases{
        {{"4 and 8", {4}, {8}}, 3, 0.13, 0.075},
        {{"3 and 9", {3}, {9}}, 10, 0.33, 0.07},
        {{"four blocks of 1 and 3", {1, 1, 1, 1}, {3, 3, 3, 3}}, 5, 0.2, 0.05}};
    const int sets = null_sets() / 2;
    for (const Case& one : cases) {
        const PairTest test(layout_of(one.design), 1);
        Random random(16, one.design.name);
        int alone = 0, larger = 0;
        std::vector<double> values(test.layout().classes.size());
        for (int s = 0; s < sets; ++s) {
            for (std::size_t i = 0; i < values.size(); ++i)
                values[i] = random.normal() * (test.layout().classes[i] == 0 ? one.ratio : 1) +
                            10.0 * test.layout().blocks[i];
            const double p = test.p(values);
            alone += p <= 0.05;
            larger += std::max(p, unequal_p(test, values)) <= 0.05;
        }
        INFO(one.design.name << ": " << alone << " and " << larger << " of " << sets);
        CHECK(alone > sets * one.alone);
        CHECK(larger <= sets * one.at_most);
        CHECK(larger > 0);
    }
}

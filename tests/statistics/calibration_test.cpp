// Where nothing differs, tests must reject at their attainable level: hundreds of null sets here,
// ten times as many in tests/contrast/soak.sh.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>

#include "base/missing.h"
#include "statistics/composition.h"
#include "statistics/day_pitch.h"
#include "statistics/gradient.h"
#include "statistics/partial.h"
#include "statistics/random.h"

using namespace hearwood;

namespace {

int null_sets() {
    const char* wanted = std::getenv("HEARWOOD_NULL_SETS");
    return wanted ? std::max(1, std::atoi(wanted)) / 4 : 500;
}

Layout layout_of(const std::vector<int>& a, const std::vector<int>& b) {
    Layout layout;
    layout.block_count = static_cast<int>(a.size());
    for (int block = 0; block < layout.block_count; ++block) {
        layout.classes.insert(layout.classes.end(), a[block], 0);
        layout.classes.insert(layout.classes.end(), b[block], 1);
        layout.blocks.insert(layout.blocks.end(), a[block] + b[block], block);
    }
    return layout;
}

void check_rate(int rejected, int sets, double level, double slack = 0) {
    INFO(rejected << " of " << sets << " against " << level);
    const double error = 3.5 * std::sqrt(level * (1 - level) * sets);
    CHECK(rejected <= sets * (level + slack) + error);
    CHECK(rejected >= sets * (level - slack) - error);
}

}  // namespace

TEST_CASE("the adjusted test keeps its level over null sets, whatever the nuisance does") {
    // The covariate differs between the classes and drives the values: the plain contrast would be
    // wrong, the adjusted one must not be.
    const Layout layout = layout_of({5, 4}, {4, 5});
    Random random(21);
    const PermutationLimits limits{100, 199};
    const Orders orders(layout.blocks, layout.block_count, 5, {}, limits);
    const int sets = null_sets();
    int rejected = 0;
    for (int s = 0; s < sets; ++s) {
        PartialDesign design{layout.blocks, layout.block_count, {{}}, {}};
        std::vector<double> y;
        for (std::size_t i = 0; i < layout.classes.size(); ++i) {
            const bool a = layout.classes[i] == 0;
            design.tested.push_back(a);
            design.nuisance[0].push_back(random.normal() + a);
            y.push_back(2 * design.nuisance[0].back() + random.normal() + 9.0 * layout.blocks[i]);
        }
        rejected += PartialTest(design, orders).test(y, 0.95).p <= 0.05;
    }
    // Approximate, and one set of random orders serves all sets: its luck is part of the error.
    check_rate(rejected, sets, 0.05, 0.02);
}

TEST_CASE("the adjusted interval covers the true shift about as often as it says") {
    const Layout layout = layout_of({4}, {4});
    Random random(22);
    const PermutationLimits limits{100, 399};
    const Orders orders(layout.blocks, 1, 6, {}, limits);
    const int sets = null_sets() / 2;
    int covered = 0;
    for (int s = 0; s < sets; ++s) {
        PartialDesign design{layout.blocks, 1, {{}}, {}};
        std::vector<double> y;
        for (const int number : layout.classes) {
            design.tested.push_back(number == 0);
            design.nuisance[0].push_back(random.normal());
            y.push_back(design.nuisance[0].back() + random.normal() + 3 * design.tested.back());
        }
        const PartialResult result = PartialTest(design, orders).test(y, 0.9);
        covered += result.ci_low <= 3 && 3 <= result.ci_high;
    }
    check_rate(covered, sets, 0.9, 0.03);
}

TEST_CASE("the gradient keeps its level over null sets") {
    Random random(23);
    const int sets = null_sets();
    int rejected = 0;
    for (int s = 0; s < sets; ++s) {
        GradientInput input{{0, 0, 0, 0, 1, 1, 1}, 2, {}, {}};
        for (std::size_t i = 0; i < input.blocks.size(); ++i) {
            input.x.push_back(std::exp(random.normal()) + 5.0 * input.blocks[i]);
            input.y.push_back(random.normal() - 7.0 * input.blocks[i]);
        }
        const Orders orders(input.blocks, 2, 1, input.x);
        rejected += gradient_test(input, 0.95, orders).p <= 0.05 + 1e-12;
    }
    check_rate(rejected, sets, 7.0 / 144);  // 4! 3! orders
}

TEST_CASE("composition keeps its level over null sets; its check of dispersion nearly does") {
    const PairTest test(layout_of({4}, {4}), 1), larger(layout_of({6}, {6}), 1);
    Random random(24);
    const int sets = null_sets();
    int place = 0, dispersion = 0;
    for (int s = 0; s < sets; ++s) {
        for (const PairTest* design : {&test, &larger}) {
            std::vector<std::vector<double>> columns(12);
            for (std::vector<double>& column : columns)
                for (std::size_t i = 0; i < design->layout().classes.size(); ++i)
                    column.push_back(random.normal() * (1 + static_cast<double>(columns.size())));
            const Composition result = compose(*design, columns);
            if (design == &test)
                place += result.p <= 0.05;
            else
                dispersion += result.dispersion_p <= 0.05;
        }
    }
    check_rate(place, sets, 2.0 / 70);
    check_rate(dispersion, sets, 0.07, 0.03);
}

TEST_CASE("day and pitch keep their level over all cells and over all clusters together") {
    const PairTest test(layout_of({4}, {4}), 1);
    Random random(25);
    const int sets = null_sets();
    int cells = 0, clusters = 0;
    for (int s = 0; s < sets; ++s) {
        std::vector<DayPitchCell> map;
        std::vector<double> site(8);
        for (double& value : site) value = random.normal();
        for (int hour = 0; hour < 24; hour += 1)
            for (int band = 0; band < 3; ++band) {
                DayPitchCell& cell = map.emplace_back();
                cell.hour = hour;
                cell.low_hz = 500.0 * band;
                cell.high_hz = cell.low_hz + 500;
                for (const double own : site) cell.values.push_back(own + random.normal());
            }
        double least_cell = 1, least_cluster = 1;
        for (const DayPitchResult& result : day_pitch(test, map)) {
            least_cell = std::min(least_cell, result.p_adjusted);
            if (!is_missing(result.cluster_p))
                least_cluster = std::min(least_cluster, result.cluster_p);
        }
        cells += least_cell <= 0.05;
        clusters += least_cluster <= 0.05;
    }
    check_rate(cells, sets, 2.0 / 70);
    check_rate(clusters, sets, 2.0 / 70);
}

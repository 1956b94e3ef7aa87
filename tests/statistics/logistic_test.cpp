// The fit against the equations that its optimum solves; tests/listen/teach_check.py holds it
// against scipy.
#include "statistics/logistic.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "statistics/random.h"

using namespace hearwood;

TEST_CASE("one quantity of plus and minus one has its optimum by hand") {
    // 10 cases each: of the +1 seven are yes, of the -1 three. Mean 0, deviation 1. By symmetry the
    // constant is 0; 20 (1 / (1 + e^-b) - 0.7) + ridge b = 0.
    std::vector<std::vector<double>> rows;
    std::vector<bool> labels;
    for (int i = 0; i < 20; ++i) {
        rows.push_back({i < 10 ? 1.0 : -1.0});
        labels.push_back(i < 10 ? i < 7 : i < 13);
    }
    for (const double ridge : {0.001, 1.0, 10.0}) {
        const LogisticRule rule = fit_logistic(rows, labels, ridge);
        const double b = rule.weights[0];
        CHECK(rule.constant == Approx(0).margin(1e-9));
        CHECK(20 * (1 / (1 + std::exp(-b)) - 0.7) + ridge * b == Approx(0).margin(1e-7));
        CHECK(b > 0);
    }
}

TEST_CASE("scale and shift of a quantity change nothing but its weight's unit") {
    Random random(3);
    std::vector<std::vector<double>> rows, moved;
    std::vector<bool> labels;
    for (int i = 0; i < 80; ++i) {
        const double x = random.normal(), y = random.normal();
        rows.push_back({x, y, 7});
        moved.push_back({1000 + 50 * x, y, 7});
        labels.push_back(2 * x - y + random.normal() > 0);
    }
    const LogisticRule a = fit_logistic(rows, labels, 3), b = fit_logistic(moved, labels, 3);
    CHECK(b.weights[0] == Approx(a.weights[0] / 50));
    CHECK(a.weights[2] == 0);  // it never changes
    for (int i = 0; i < 80; ++i)
        CHECK(a.score(rows[static_cast<std::size_t>(i)]) ==
              Approx(b.score(moved[static_cast<std::size_t>(i)])).margin(1e-8));
    CHECK(std::isnan(a.score(std::vector<double>{std::nan(""), 0, 7})));
}

TEST_CASE("cases that a line divides have finite weights") {
    const LogisticRule rule = fit_logistic({{-2}, {-1}, {1}, {2}}, {false, false, true, true}, 1);
    CHECK(std::isfinite(rule.weights[0]));
    CHECK(rule.score(std::vector<double>{1.0}) > 0);
    CHECK(rule.score(std::vector<double>{-1.0}) < 0);
}

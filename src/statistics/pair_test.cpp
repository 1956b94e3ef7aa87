// How the interval is computed. Testing "class A - d against class B" takes d off the values of A;
// the statistic of permutation r becomes t_r - c_r d, where c_r = 1 - m_r / I is the same statistic
// of the indicator of A (m_r: sites labelled A that are not of A; I: information), and the observed
// one T - d. Permutation r counts towards p(d) where abs(t_r - c_r d) >= abs(T - d). As abs(c_r) <=
// 1 that is an interval around T with the ends
//     (T - t_r) / (1 - c_r)   and   (T + t_r) / (1 + c_r),
// or the whole line where c_r is 1 (the observed labels) or -1 (all labels exchanged). So p(d)
// falls on both sides of T, and {d : p(d) > alpha} ends at the k-th largest upper and the k-th
// smallest lower end, k = floor(alpha R) + 1, R rows: sorting in place of searching.
#include "statistics/pair_test.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <functional>
#include <limits>
#include <utility>

namespace hearwood {

namespace {

struct BlockCounts {
    int a = 0, b = 0;
};

std::vector<BlockCounts> counts_by_block(const Layout& layout) {
    std::vector<BlockCounts> counts(layout.block_count);
    for (std::size_t i = 0; i < layout.classes.size(); ++i)
        ++(layout.classes[i] == 0 ? counts[layout.blocks[i]].a : counts[layout.blocks[i]].b);
    return counts;
}

/// Sums of every subset of eight residuals, so that a row's sum over A takes one look-up a group.
using SubsetSums = std::array<double, 256>;

SubsetSums subset_sums(const std::vector<double>& e, std::size_t first) {
    SubsetSums sums{};
    for (std::size_t mask = 1; mask < sums.size(); ++mask) {
        const auto lowest = static_cast<std::size_t>(std::countr_zero(mask));
        const std::size_t unit = first + lowest;
        sums[mask] = sums[mask & (mask - 1)] + (unit < e.size() ? e[unit] : 0);
    }
    return sums;
}

double share_reaching(const std::vector<double>& t, double tolerance) {
    const double bar = std::abs(t.front()) - tolerance;
    const auto hits =
        std::count_if(t.begin(), t.end(), [bar](double value) { return std::abs(value) >= bar; });
    return static_cast<double>(hits) / static_cast<double>(t.size());
}

/// Ends within rounding of 0 are 0.
double snapped(double end, double scale) {
    return std::abs(end) < 1e-12 * scale ? 0 : end;
}

}  // namespace

std::vector<double> block_residuals(std::span<const double> values, const Layout& layout) {
    std::vector<double> residuals(values.begin(), values.end());
    for (const std::vector<int>& members : units_by_block(layout.blocks, layout.block_count)) {
        if (members.empty()) continue;
        // Taking one of the values off first keeps a constant block at exact zeros.
        const double origin = values[members.front()];
        double sum = 0;
        for (const int i : members) sum += residuals[i] -= origin;
        for (const int i : members) residuals[i] -= sum / static_cast<double>(members.size());
    }
    return residuals;
}

double information(const Layout& layout) {
    double sum = 0;
    for (const BlockCounts& n : counts_by_block(layout))
        if (n.a + n.b > 0) sum += static_cast<double>(n.a) * n.b / (n.a + n.b);
    return sum;
}

bool balanced(const Layout& layout) {
    for (const BlockCounts& n : counts_by_block(layout))
        if (n.a != n.b) return false;
    return true;
}

PairTest::PairTest(Layout layout, std::uint64_t seed, const PermutationLimits& limits)
    : layout_(std::move(layout)),
      information_(hearwood::information(layout_)),
      balanced_(hearwood::balanced(layout_)),
      groups_((layout_.classes.size() + 7) / 8) {
    const PermutationPlan plan = plan_permutations(layout_, limits);
    exact_ = plan.exact;
    rows_ = plan.rows;
    reported_ = plan.reported();
    p_min_ = (exact_ && balanced_ ? 2.0 : 1.0) / static_cast<double>(rows_);
    masks_.assign(static_cast<std::size_t>(rows_) * groups_, 0);
    moved_.assign(static_cast<std::size_t>(rows_), 0);
    for_each_permutation(layout_, plan, seed,
                         [&](std::int64_t r, std::span<const std::uint8_t> row) {
                             for (std::size_t i = 0; i < row.size(); ++i) {
                                 if (row[i] != 0) continue;
                                 std::uint8_t& mask = masks_[r * groups_ + i / 8];
                                 mask = static_cast<std::uint8_t>(mask | (1u << (i % 8)));
                                 moved_[r] += layout_.classes[i] != 0;
                             }
                         });
}

std::vector<double> PairTest::statistics(const std::vector<double>& values) const {
    const std::vector<double> e = block_residuals(values, layout_);
    std::vector<double> t(static_cast<std::size_t>(rows_), 0);
    for (std::size_t g = 0; g < groups_; ++g) {
        const SubsetSums sums = subset_sums(e, 8 * g);
        const std::uint8_t* mask = masks_.data() + g;
        for (double& sum : t) {
            sum += sums[*mask];
            mask += groups_;
        }
    }
    for (double& sum : t) sum /= information_;
    return t;
}

void PairTest::invert(TestResult& result, const std::vector<double>& t, double level,
                      double scale) const {
    const double infinity = std::numeric_limits<double>::infinity();
    const auto n_a =
        static_cast<int>(std::count(layout_.classes.begin(), layout_.classes.end(), 0));
    std::vector<double> lower(t.size()), upper(t.size());
    for (std::size_t r = 0; r < t.size(); ++r) {
        const int m = moved_[r];
        if (m == 0 || (balanced_ && m == n_a)) {
            lower[r] = -infinity;
            upper[r] = infinity;
            continue;
        }
        const double one = (t.front() - t[r]) / (m / information_);
        const double other = (t.front() + t[r]) / (2 - m / information_);
        lower[r] = std::min(one, other);
        upper[r] = std::max(one, other);
    }
    const double rows = static_cast<double>(t.size());
    // 1 - level is rarely a binary fraction: 1 - 0.9 times 20 must count as 2.
    const auto k =
        static_cast<std::ptrdiff_t>(std::min(std::floor((1 - level) * rows + 1e-9), rows - 1));
    std::nth_element(upper.begin(), upper.begin() + k, upper.end(), std::greater<>());
    std::nth_element(lower.begin(), lower.begin() + k, lower.end());
    result.ci_low = snapped(lower[k], scale);
    result.ci_high = snapped(upper[k], scale);
}

TestResult PairTest::test(const std::vector<double>& values, double level) const {
    const std::vector<double> t = statistics(values);
    TestResult result;
    result.difference = t.front();
    const double tolerance = tie_tolerance(values, t.front());
    result.p = share_reaching(t, tolerance);
    result.p_min = p_min_;
    invert(result, t, level, tolerance * 1e9);
    return result;
}

double PairTest::p(const std::vector<double>& values) const {
    const std::vector<double> t = statistics(values);
    return share_reaching(t, tie_tolerance(values, t.front()));
}

double tie_tolerance(const std::vector<double>& values, double difference) {
    double sum = 0, spread = 0;
    for (const double value : values) sum += value - values.front();
    const double mean = sum / static_cast<double>(values.size());
    for (const double value : values)
        spread = std::max(spread, std::abs(value - values.front() - mean));
    return 1e-9 * std::max(std::abs(difference), spread);
}

}  // namespace hearwood

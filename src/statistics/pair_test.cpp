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

}  // namespace

std::vector<SubsetSums> subset_sums(const std::vector<double>& numbers) {
    std::vector<SubsetSums> sums((numbers.size() + 7) / 8);
    for (std::size_t g = 0; g < sums.size(); ++g) {
        sums[g][0] = 0;
        for (std::size_t mask = 1; mask < sums[g].size(); ++mask) {
            const std::size_t unit = 8 * g + static_cast<std::size_t>(std::countr_zero(mask));
            sums[g][mask] =
                sums[g][mask & (mask - 1)] + (unit < numbers.size() ? numbers[unit] : 0);
        }
    }
    return sums;
}

double tie_tolerance(std::span<const double> values, double information) {
    double sum = 0;
    for (const double value : values) sum += std::abs(value);
    return 8 * static_cast<double>(values.size()) * std::numeric_limits<double>::epsilon() * sum /
           information;
}

double share_reaching(const std::vector<double>& t, double tolerance) {
    const double bar = std::abs(t.front()) - tolerance;
    const auto hits =
        std::count_if(t.begin(), t.end(), [bar](double value) { return std::abs(value) >= bar; });
    return static_cast<double>(hits) / static_cast<double>(t.size());
}

std::vector<double> block_residuals(std::span<const double> values, const Layout& layout) {
    std::vector<double> residuals(values.begin(), values.end());
    double largest = 0, furthest = 0;
    for (const std::vector<int>& members : units_by_block(layout.blocks, layout.block_count)) {
        if (members.empty()) continue;
        // Taking one of the values off first keeps a constant block at exact zeros.
        const double origin = values[members.front()];
        double sum = 0;
        for (const int i : members) sum += residuals[i] -= origin;
        for (const int i : members) {
            residuals[i] -= sum / static_cast<double>(members.size());
            largest = std::max(largest, std::abs(values[i]));
            furthest = std::max(furthest, std::abs(residuals[i]));
        }
    }
    if (furthest <= kRounding * largest) std::fill(residuals.begin(), residuals.end(), 0.0);
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

double PairTest::difference(const std::vector<double>& values) const {
    return sum_over_a(0, subset_sums(block_residuals(values, layout_))) / information_;
}

std::vector<double> PairTest::statistics(const std::vector<double>& values) const {
    const std::vector<SubsetSums> sums = subset_sums(block_residuals(values, layout_));
    std::vector<double> t(static_cast<std::size_t>(rows_));
    for (std::int64_t r = 0; r < rows_; ++r) t[r] = sum_over_a(r, sums) / information_;
    return t;
}

std::vector<ShiftShare> PairTest::shift_shares() const {
    const auto n_a =
        static_cast<int>(std::count(layout_.classes.begin(), layout_.classes.end(), 0));
    std::vector<ShiftShare> shares;
    shares.reserve(moved_.size());
    for (const int m : moved_) {
        const bool exchanged = balanced_ && m == n_a;
        shares.push_back({m / information_, exchanged ? 0 : 2 - m / information_});
    }
    return shares;
}

ShiftInterval invert_shift(const std::vector<double>& t, const std::vector<ShiftShare>& shares,
                           double level, double tolerance) {
    const double infinity = std::numeric_limits<double>::infinity();
    std::vector<double> lower(t.size()), upper(t.size());
    for (std::size_t r = 0; r < t.size(); ++r) {
        const auto [down, up] = shares[r];
        if (down <= 0 || up <= 0) {
            lower[r] = -infinity;
            upper[r] = infinity;
            continue;
        }
        // What counts as a tie at d = 0 has its end there.
        const double less = t.front() - t[r], more = t.front() + t[r];
        const double one = std::abs(less) <= tolerance ? 0 : less / down;
        const double other = std::abs(more) <= tolerance ? 0 : more / up;
        lower[r] = std::min(one, other);
        upper[r] = std::max(one, other);
    }
    const double rows = static_cast<double>(t.size());
    // 1 - level is rarely a binary fraction: 1 - 0.9 times 20 must count as 2.
    const auto k =
        static_cast<std::ptrdiff_t>(std::min(std::floor((1 - level) * rows + 1e-9), rows - 1));
    std::nth_element(upper.begin(), upper.begin() + k, upper.end(), std::greater<>());
    std::nth_element(lower.begin(), lower.begin() + k, lower.end());
    return {lower[k], upper[k]};
}

TestResult PairTest::test(const std::vector<double>& values, double level) const {
    const std::vector<double> t = statistics(values);
    const double tolerance = tie_tolerance(values, information_);
    const ShiftInterval interval = invert_shift(t, shift_shares(), level, tolerance);
    return {t.front(), share_reaching(t, tolerance), p_min_, interval.low, interval.high};
}

double PairTest::p(const std::vector<double>& values) const {
    return share_reaching(statistics(values), tie_tolerance(values, information_));
}

}  // namespace hearwood

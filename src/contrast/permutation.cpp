// How the interval is computed. Testing "class A - d against class B" takes d off the values of A;
// the statistic of relabelling r becomes t_r - c_r d, where c_r = 1 - m_r / I is the same statistic
// of the indicator of A (m_r: sites labelled A that are not of A; I: information), and the observed
// one T - d. Relabelling r counts towards p(d) where abs(t_r - c_r d) >= abs(T - d). As abs(c_r) <=
// 1 that is an interval around T with the ends
//     (T - t_r) / (1 - c_r)   and   (T + t_r) / (1 + c_r),
// or the whole line where c_r is 1 (the observed labels) or -1 (all labels exchanged). So p(d)
// falls on both sides of T, and {d : p(d) > alpha} ends at the k-th largest upper and the k-th
// smallest lower end, k = floor(alpha R) + 1, R rows: sorting in place of searching.
#include "contrast/permutation.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "contrast/units.h"

namespace hearwood {

namespace {

/// Sum of e over the units that the row labels A.
double sum_of_a(std::span<const std::uint8_t> row, const std::vector<double>& e) {
    double sum = 0;
    for (std::size_t i = 0; i < e.size(); ++i) sum += row[i] == 0 ? e[i] : 0.0;
    return sum;
}

/// T* of every row.
std::vector<double> statistics(const std::vector<double>& e, double info,
                               const Relabellings& relabellings) {
    std::vector<double> t(relabellings.rows());
    for (std::int64_t r = 0; r < relabellings.rows(); ++r)
        t[r] = sum_of_a(relabellings.row(r), e) / info;
    return t;
}

double share_reaching(const std::vector<double>& t, double tolerance) {
    const double bar = std::abs(t.front()) - tolerance;
    const auto hits =
        std::count_if(t.begin(), t.end(), [bar](double value) { return std::abs(value) >= bar; });
    return static_cast<double>(hits) / static_cast<double>(t.size());
}

int moved(std::span<const std::uint8_t> row, const Layout& layout) {
    int count = 0;
    for (std::size_t i = 0; i < row.size(); ++i)
        count += static_cast<int>(row[i] == 0 && layout.classes[i] != 0);
    return count;
}

/// Ends within rounding of 0 are 0.
double snapped(double end, double scale) {
    return std::abs(end) < 1e-12 * scale ? 0 : end;
}

void invert(TestResult& result, const std::vector<double>& t, const Layout& layout, double info,
            const Relabellings& relabellings, double level, double scale) {
    const double infinity = std::numeric_limits<double>::infinity();
    const auto n_a = std::count(layout.classes.begin(), layout.classes.end(), 0);
    const bool exchange = balanced(layout);
    std::vector<double> lower(t.size()), upper(t.size());
    for (std::size_t r = 0; r < t.size(); ++r) {
        const int m = moved(relabellings.row(static_cast<std::int64_t>(r)), layout);
        if (m == 0 || (exchange && m == n_a)) {
            lower[r] = -infinity;
            upper[r] = infinity;
            continue;
        }
        const double one = (t.front() - t[r]) / (m / info);
        const double other = (t.front() + t[r]) / (2 - m / info);
        lower[r] = std::min(one, other);
        upper[r] = std::max(one, other);
    }
    const double rows = static_cast<double>(t.size());
    // 1 - level is rarely a binary fraction: 1 - 0.9 times 20 must count as 2.
    const auto k = static_cast<std::ptrdiff_t>(std::floor((1 - level) * rows + 1e-9));
    std::nth_element(upper.begin(), upper.begin() + k, upper.end(), std::greater<>());
    std::nth_element(lower.begin(), lower.begin() + k, lower.end());
    result.ci_low = snapped(lower[k], scale);
    result.ci_high = snapped(upper[k], scale);
}

double least_p(const Layout& layout, const Relabellings& relabellings) {
    const double rows = static_cast<double>(relabellings.rows());
    return relabellings.exact() && balanced(layout) ? 2 / rows : 1 / rows;
}

}  // namespace

double tie_tolerance(const std::vector<double>& values, double difference) {
    double sum = 0, spread = 0;
    for (const double value : values) sum += value - values.front();
    const double mean = sum / static_cast<double>(values.size());
    for (const double value : values)
        spread = std::max(spread, std::abs(value - values.front() - mean));
    return 1e-9 * std::max(std::abs(difference), spread);
}

TestResult permutation_test(const std::vector<double>& values, const Layout& layout,
                            const Relabellings& relabellings, double level) {
    const double info = information(layout);
    const std::vector<double> t = statistics(block_residuals(values, layout), info, relabellings);
    TestResult result;
    result.difference = t.front();
    const double tolerance = tie_tolerance(values, t.front());
    result.p = share_reaching(t, tolerance);
    result.p_min = least_p(layout, relabellings);
    invert(result, t, layout, info, relabellings, level, tolerance * 1e9);
    return result;
}

double permutation_p(const std::vector<double>& values, const Layout& layout,
                     const Relabellings& relabellings) {
    const std::vector<double> t =
        statistics(block_residuals(values, layout), information(layout), relabellings);
    return share_reaching(t, tie_tolerance(values, t.front()));
}

}  // namespace hearwood

#include "statistics/unequal.h"

#include <algorithm>
#include <array>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

#include "base/missing.h"

namespace hearwood {

namespace {

/// Squares about the mean; exactly 0 for equal values.
struct Moments {
    double mean = 0, squares = 0, count = 0;
};

Moments moments(const std::vector<double>& values) {
    Moments m;
    m.count = static_cast<double>(values.size());
    if (values.empty()) return m;
    for (const double value : values) m.mean += (value - values.front()) / m.count;
    for (const double value : values) {
        const double off = value - values.front() - m.mean;
        m.squares += off * off;
    }
    m.mean += values.front();
    return m;
}

std::vector<double> members(std::span<const double> values, const Layout& layout, int stand,
                            int block) {
    std::vector<double> kept;
    for (std::size_t i = 0; i < values.size(); ++i)
        if (layout.classes[i] == stand && layout.blocks[i] == block) kept.push_back(values[i]);
    return kept;
}

double largest_of(std::span<const double> values) {
    double largest = 0;
    for (const double value : values) largest = std::max(largest, std::abs(value));
    return largest;
}

/// The squares are those of numbers that differ by rounding alone.
bool only_rounding(double squares, double count, double largest) {
    return squares <= count * kRounding * largest * kRounding * largest;
}

/// The means are those of values of which the same number was taken off, so that a large common
/// part costs their difference no digits.
double welch_p(const Moments& a, const Moments& b, double largest) {
    if (a.count < 2 || b.count < 2) return kMissing;
    if (only_rounding(a.squares + b.squares, a.count + b.count, largest)) return kMissing;
    const double of_a = a.squares / (a.count - 1) / a.count;
    const double of_b = b.squares / (b.count - 1) / b.count;
    const double variance = of_a + of_b;
    const double df =
        variance * variance / (of_a * of_a / (a.count - 1) + of_b * of_b / (b.count - 1));
    const double t = std::abs(a.mean - b.mean) / std::sqrt(variance);
    return 2 * boost::math::cdf(boost::math::complement(boost::math::students_t(df), t));
}

/// T and the root of sum w_b^2 (d_b - T)^2 under one row of labels.
class BlockDifferences {
  public:
    BlockDifferences(const PairTest& test, const std::vector<double>& values)
        : test_(test),
          residuals_(block_residuals(values, test.layout())),
          info_(test.layout().block_count),
          sums_(test.layout().block_count) {
        std::vector<std::array<double, 2>> counts(info_.size());
        for (std::size_t i = 0; i < residuals_.size(); ++i)
            ++counts[test.layout().blocks[i]][test.layout().classes[i]];
        for (std::size_t b = 0; b < info_.size(); ++b)
            info_[b] = counts[b][0] * counts[b][1] / (counts[b][0] + counts[b][1]);
    }

    struct Value {
        double difference, error;
    };
    Value of(std::int64_t row) {
        std::fill(sums_.begin(), sums_.end(), 0.0);
        for (std::size_t i = 0; i < residuals_.size(); ++i)
            if (test_.in_a(row, i)) sums_[test_.layout().blocks[i]] += residuals_[i];
        double sum = 0;
        for (const double of_block : sums_) sum += of_block;
        const double difference = sum / test_.information();
        double squares = 0;
        for (std::size_t b = 0; b < sums_.size(); ++b) {
            // w_b (d_b - T), with d_b = sum / info and w_b = info / I.
            const double off = (sums_[b] - info_[b] * difference) / test_.information();
            squares += off * off;
        }
        return {difference, std::sqrt(squares)};
    }

  private:
    const PairTest& test_;
    std::vector<double> residuals_, info_, sums_;
};

double studentised_p(const PairTest& test, const std::vector<double>& values) {
    BlockDifferences differences(test, values);
    // What the last digit of the values can do to T; tie_tolerance() is wider by the number of
    // units.
    const double least =
        tie_tolerance(values, test.information()) / (2 * static_cast<double>(values.size()));
    const auto observed = differences.of(0);
    if (std::abs(observed.difference) <= least && observed.error <= least) return kMissing;
    const double t = std::abs(observed.difference), s = observed.error;
    std::int64_t hits = 0;
    for (std::int64_t r = 0; r < test.rows(); ++r) {
        const auto row = differences.of(r);
        const double t_row = std::abs(row.difference), s_row = row.error;
        // t_row / s_row >= t / s without dividing; the slack is what rounding can do to either
        // side.
        hits += t_row * s >= t * s_row - least * (t + s + t_row + s_row);
    }
    return static_cast<double>(hits) / static_cast<double>(test.rows());
}

}  // namespace

double unequal_p(const PairTest& test, const std::vector<double>& values) {
    const Layout& layout = test.layout();
    if (layout.block_count == 2) return kMissing;
    if (layout.block_count > 2) return studentised_p(test, values);
    if (values.empty()) return kMissing;
    std::vector<double> shifted = values;
    for (double& value : shifted) value -= values.front();
    return welch_p(moments(members(shifted, layout, 0, 0)), moments(members(shifted, layout, 1, 0)),
                   largest_of(values));
}

double spread_ratio(std::span<const double> values, const Layout& layout) {
    std::array<double, 2> squares{}, freedom{};
    const double largest = largest_of(values);
    for (int stand = 0; stand < 2; ++stand) {
        for (int block = 0; block < layout.block_count; ++block) {
            const Moments cell = moments(members(values, layout, stand, block));
            if (cell.count == 0) continue;
            squares[stand] += cell.squares;
            freedom[stand] += cell.count - 1;
        }
    }
    if (freedom[0] <= 0 || freedom[1] <= 0) return kMissing;
    for (int stand = 0; stand < 2; ++stand)
        if (only_rounding(squares[stand], freedom[stand], largest)) squares[stand] = 0;
    const double a = std::sqrt(squares[0] / freedom[0]), b = std::sqrt(squares[1] / freedom[1]);
    if (std::max(a, b) == 0) return kMissing;
    return std::max(a, b) / std::min(a, b);
}

double student_quantile(double probability, double freedom) {
    return boost::math::quantile(boost::math::students_t(freedom), probability);
}

}  // namespace hearwood

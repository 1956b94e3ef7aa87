#include "statistics/family.h"

#include <tbb/blocked_range.h>
#include <tbb/parallel_reduce.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/missing.h"
#include "statistics/step_down.h"

namespace hearwood {

double t_statistic(double difference, double information, double within_blocks, double df) {
    const double explained = difference * difference * information;
    const double rest = within_blocks - explained;
    if (rest <= 1e-14 * within_blocks)
        return within_blocks > 0
                   ? std::copysign(std::numeric_limits<double>::infinity(), difference)
                   : 0;
    return difference * std::sqrt(information) / std::sqrt(rest / df);
}

OutcomeT::OutcomeT(const PairTest& test, const std::vector<double>& values)
    : test_(test), whole_(std::none_of(values.begin(), values.end(), is_missing)) {
    const Layout& layout = test.layout();
    if (whole_) {
        const std::vector<double> e = block_residuals(values, layout);
        sums_ = subset_sums(e);
        for (const double residual : e) within_ += residual * residual;
        return;
    }
    for (const std::vector<int>& members : units_by_block(layout.blocks, layout.block_count)) {
        for (const int unit : members)
            if (!is_missing(values[unit])) present_.push_back(static_cast<std::size_t>(unit));
        ends_.push_back(present_.size());
    }
    double largest = 0;
    for (const std::size_t place : present_) {
        centred_.push_back(values[place] - values[present_[0]]);
        largest = std::max(largest, std::abs(values[place]));
    }
    rounding_ = static_cast<double>(present_.size()) * kRounding * largest * kRounding * largest;
}

std::optional<OutcomeT::Sums> OutcomeT::patchy(std::int64_t row) const {
    Sums result;
    double sum = 0;
    int n_a = 0, n = 0, used = 0;
    std::size_t place = 0;
    for (const std::size_t end : ends_) {
        double of_a = 0, all = 0, squares = 0;
        int count_a = 0;
        const int count = static_cast<int>(end - place);
        for (; place < end; ++place) {
            const double value = centred_[place];
            all += value;
            squares += value * value;
            const bool in_a = test_.in_a(row, present_[place]);
            of_a += in_a ? value : 0;
            count_a += in_a;
        }
        if (count_a == 0 || count_a == count) continue;
        const double share = static_cast<double>(count_a) / count;
        result.information += share * (count - count_a);
        sum += of_a - share * all;
        result.within += squares - all * all / count;
        result.size += squares;
        n_a += count_a;
        n += count;
        ++used;
    }
    if (n_a < 2 || n - n_a < 2) return std::nullopt;
    result.difference = sum / result.information;
    result.df = n - used - 1;
    return result;
}

double OutcomeT::at(std::int64_t row) const {
    if (whole_) {
        const Layout& layout = test_.layout();
        const double df = static_cast<double>(layout.classes.size()) - layout.block_count - 1;
        return std::abs(t_statistic(difference(row), test_.information(), within_, df));
    }
    const std::optional<Sums> sums = patchy(row);
    if (!sums) return kMissing;
    if (!varies(*sums)) return 0;
    return std::abs(t_statistic(sums->difference, sums->information, sums->within, sums->df));
}

double OutcomeT::difference(std::int64_t row) const {
    if (whole_) return test_.sum_over_a(row, sums_) / test_.information();
    const std::optional<Sums> sums = patchy(row);
    return sums ? sums->difference : kMissing;
}

bool OutcomeT::varies() const {
    if (whole_) return within_ > 0;
    const std::optional<Sums> sums = patchy(0);
    return sums && varies(*sums);
}

bool OutcomeT::varies(const Sums& sums) const {
    return sums.within > std::max(1e-14 * sums.size, rounding_);
}

namespace {

/// Observed abs t of the family; NaN where s is 0, which leaves it.
std::vector<double> observed_family(const std::vector<OutcomeT>& outcomes) {
    std::vector<double> observed;
    for (const OutcomeT& outcome : outcomes) {
        const double t = outcome.at(0);
        observed.push_back(std::isfinite(t) && outcome.varies() ? t : kMissing);
    }
    return observed;
}

}  // namespace

FamilyResult family_max_t(const PairTest& test, std::span<const std::vector<double>> outcomes) {
    std::vector<OutcomeT> t;
    t.reserve(outcomes.size());
    for (const std::vector<double>& values : outcomes) t.emplace_back(test, values);
    const StepDown family(observed_family(t));
    const auto count = [&](const tbb::blocked_range<std::int64_t>& rows, StepDown so_far) {
        std::vector<double> row(t.size());
        for (std::int64_t r = rows.begin(); r < rows.end(); ++r) {
            for (std::size_t i = 0; i < t.size(); ++i) row[i] = t[i].at(r);
            so_far.add(row);
        }
        return so_far;
    };
    const StepDown counted = tbb::parallel_reduce(
        tbb::blocked_range<std::int64_t>(0, test.rows(), 1024), family, count, StepDown::merged);
    FamilyResult result{{}, counted.adjusted()};
    for (const OutcomeT& outcome : t)
        result.t.push_back(std::copysign(outcome.at(0), outcome.difference(0)));
    return result;
}

}  // namespace hearwood

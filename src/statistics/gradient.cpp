#include "statistics/gradient.h"

#include <tbb/blocked_range.h>
#include <tbb/parallel_reduce.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "base/missing.h"
#include "statistics/dot.h"
#include "statistics/pair_test.h"
#include "statistics/step_down.h"

namespace hearwood {

namespace {

std::vector<double> centred(std::span<const double> values, std::span<const int> blocks,
                            int block_count) {
    return block_residuals(values, {{}, {blocks.begin(), blocks.end()}, 1, block_count});
}

double t_of(double xy, double xx, double yy, double df) {
    const double explained = xy * xy / xx, rest = yy - explained;
    if (rest <= 1e-14 * yy) return yy > 0 ? kInfinity : 0;
    return std::sqrt(explained / (rest / df));
}

int used_blocks(std::span<const int> blocks) {
    return static_cast<int>(std::set<int>(blocks.begin(), blocks.end()).size());
}

/// One outcome of a family: abs t when unit i has the number of unit order[i].
class Outcome {
  public:
    Outcome(std::span<const double> x, std::span<const int> blocks, int block_count,
            const std::vector<double>& values)
        : x_(x) {
        std::vector<int> of_present;
        std::vector<double> y;
        for (const std::vector<int>& members : units_by_block(blocks, block_count)) {
            for (const int unit : members) {
                if (is_missing(values[unit])) continue;
                present_.push_back(unit);
                of_present.push_back(blocks[unit]);
                y.push_back(values[unit]);
            }
            if (ends_.empty() || ends_.back() != present_.size()) ends_.push_back(present_.size());
        }
        y_ = centred(y, of_present, block_count);
        yy_ = dot(y_, y_);
        df_ = static_cast<double>(present_.size()) - static_cast<double>(ends_.size()) - 1;
        GradientInput input{of_present, block_count, {}, y};
        for (const int unit : present_) input.x.push_back(x[unit]);
        testable_ = gradient_testable(input);
        whole_ = present_.size() == values.size();
        if (!whole_) return;
        y_ = centred(values, blocks, block_count);
        const std::vector<double> x_centred = centred(x, blocks, block_count);
        xx_ = dot(x_centred, x_centred);
    }

    bool testable() const { return testable_ && df_ > 0 && yy_ > 0; }

    /// `moved` holds the x of every unit, in the given order, from its block's mean.
    double t(std::span<const std::uint16_t> order, std::span<const double> moved) const {
        if (whole_) return t_of(dot(moved, y_), xx_, yy_, df_);
        double xy = 0, xx = 0;
        std::size_t place = 0;
        for (const std::size_t end : ends_) {
            const double origin = x_[order[present_[place]]],
                         count = static_cast<double>(end - place);
            double sum = 0, squares = 0;
            for (; place < end; ++place) {
                const double x = x_[order[present_[place]]] - origin;
                sum += x;
                squares += x * x;
                xy += x * y_[place];  // y has no block mean, so x needs none here
            }
            xx += squares - sum * sum / count;
        }
        return xx > 0 ? t_of(xy, xx, yy_, df_) : kMissing;
    }

  private:
    std::span<const double> x_;
    std::vector<int> present_;       ///< units with a value, block by block
    std::vector<std::size_t> ends_;  ///< where each block's units end
    std::vector<double> y_;          ///< from its block's mean; whole: in the units' order
    double xx_ = 0, yy_ = 0, df_ = 0;
    bool testable_ = false, whole_ = false;
};

}  // namespace

bool gradient_testable(const GradientInput& input) {
    const std::set<double> different(input.x.begin(), input.x.end());
    if (static_cast<int>(input.x.size()) < kLeastGradientSites ||
        static_cast<int>(different.size()) < kLeastGradientValues)
        return false;
    const std::vector<double> x = centred(input.x, input.blocks, input.block_count);
    return std::any_of(x.begin(), x.end(), [](double value) { return value != 0; });
}

GradientResult gradient_test(const GradientInput& input, double level, const Orders& orders) {
    const std::vector<double> x = centred(input.x, input.blocks, input.block_count);
    const std::vector<double> y = centred(input.y, input.blocks, input.block_count);
    const double xx = dot(x, x), yy = dot(y, y);
    std::vector<double> slopes;
    std::vector<ShiftShare> shares;
    std::vector<double> moved(x.size());
    for (std::int64_t r = 0; r < orders.rows(); ++r) {
        const std::span<const std::uint16_t> order = orders.row(r);
        for (std::size_t i = 0; i < moved.size(); ++i) moved[i] = x[order[i]];
        slopes.push_back(dot(moved, y) / xx);
        const double share = r == 0 ? 1 : dot(moved, x) / xx;
        const auto left = [](double part) { return part > 1e-12 ? part : 0; };
        shares.push_back({left(1 - share), left(1 + share)});
    }
    double largest = 0, sum = 0;
    for (const double value : x) largest = std::max(largest, std::abs(value));
    for (const double value : input.y) sum += std::abs(value);
    const double tolerance = 8 * static_cast<double>(x.size()) *
                             std::numeric_limits<double>::epsilon() * sum * largest / xx;
    GradientResult result;
    result.slope = slopes.front();
    const double df = static_cast<double>(x.size()) - used_blocks(input.blocks) - 1;
    result.t = std::copysign(t_of(result.slope * xx, xx, yy, df), result.slope);
    result.p = share_reaching(slopes, tolerance);
    const ShiftInterval interval = invert_shift(slopes, shares, level, tolerance);
    result.ci_low = interval.low;
    result.ci_high = interval.high;
    return result;
}

std::vector<double> gradient_max_t(std::span<const double> x, std::span<const int> blocks,
                                   int block_count, std::span<const std::vector<double>> outcomes,
                                   std::uint64_t seed, const PermutationLimits& limits) {
    const Orders orders(blocks, block_count, seed, x, limits);
    const std::vector<double> centred_x = centred(x, blocks, block_count);
    std::vector<Outcome> family;
    std::vector<double> observed;
    for (const std::vector<double>& values : outcomes) {
        family.emplace_back(x, blocks, block_count, values);
        observed.push_back(family.back().testable() ? family.back().t(orders.row(0), centred_x)
                                                    : kMissing);
    }
    const auto count = [&](const tbb::blocked_range<std::int64_t>& rows, StepDown so_far) {
        std::vector<double> t(family.size()), moved(x.size());
        for (std::int64_t r = rows.begin(); r < rows.end(); ++r) {
            const std::span<const std::uint16_t> order = orders.row(r);
            for (std::size_t i = 0; i < moved.size(); ++i) moved[i] = centred_x[order[i]];
            for (std::size_t i = 0; i < family.size(); ++i)
                t[i] = is_missing(observed[i]) ? kMissing : family[i].t(order, moved);
            so_far.add(t);
        }
        return so_far;
    };
    return tbb::parallel_reduce(tbb::blocked_range<std::int64_t>(0, orders.rows(), 1024),
                                StepDown(observed), count, StepDown::merged)
        .adjusted();
}

}  // namespace hearwood

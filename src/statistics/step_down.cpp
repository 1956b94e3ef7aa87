#include "statistics/step_down.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"

namespace hearwood {

StepDown::StepDown(std::span<const double> observed) : outcomes_(observed.size()) {
    for (std::size_t i = 0; i < observed.size(); ++i)
        if (std::isfinite(observed[i])) order_.push_back(i);
    std::stable_sort(order_.begin(), order_.end(),
                     [&](std::size_t x, std::size_t y) { return observed[x] > observed[y]; });
    // What should be 0 and is rounding is reached by every 0.
    for (const std::size_t place : order_) bars_.push_back(observed[place] * (1 - 1e-9) - 1e-12);
    hits_.assign(order_.size(), 0);
}

void StepDown::add(std::span<const double> statistics) {
    double largest = -1;
    for (std::size_t i = order_.size(); i-- > 0;) {
        const double value = statistics[order_[i]];
        if (value > largest) largest = value;
        hits_[i] += largest >= bars_[i];
    }
    ++rows_;
}

void StepDown::merge(const StepDown& other) {
    for (std::size_t i = 0; i < hits_.size(); ++i) hits_[i] += other.hits_[i];
    rows_ += other.rows_;
}

std::vector<double> StepDown::adjusted() const {
    std::vector<double> p(outcomes_, kMissing);
    double running = 0;
    for (std::size_t i = 0; i < order_.size(); ++i) {
        running = std::max(running, static_cast<double>(hits_[i]) / static_cast<double>(rows_));
        p[order_[i]] = running;
    }
    return p;
}

}  // namespace hearwood

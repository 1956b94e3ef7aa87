#include "picture/level_field.h"

#include <algorithm>
#include <cmath>

namespace hearwood {

LevelField::LevelField(int width, int height, double low_hz, double high_hz, double bin_hz,
                       int bins) {
    const double a_row = (high_hz - low_hz) / height;
    for (int row = 0; row < height; ++row) {
        const double from = (low_hz + row * a_row) / bin_hz, to = from + a_row / bin_hz;
        Row result;
        result.first = static_cast<int>(std::ceil(from - 1e-9));
        result.last = std::min(static_cast<int>(std::ceil(to - 1e-9)) - 1, bins - 1);
        if (result.last < result.first) {
            const double middle = (from + to) / 2;
            result.first = std::clamp(static_cast<int>(std::ceil(middle)), 1, bins - 1);
            result.weight = std::clamp(middle - (result.first - 1), 0.0, 1.0);
        }
        rows_.push_back(result);
    }
    levels_.assign(static_cast<std::size_t>(width) * rows_.size(), kSilence);
    bin_levels_.assign(static_cast<std::size_t>(bins), kSilence);
}

void LevelField::set_column(int column, std::span<const double> power) {
    for (std::size_t k = 0; k < bin_levels_.size(); ++k)
        bin_levels_[k] = power[k] > 0
                             ? std::max(static_cast<float>(10 * std::log10(power[k])), kSilence)
                             : kSilence;
    float* out = levels_.data() + static_cast<std::size_t>(column) * rows_.size();
    for (const Row& row : rows_) {
        const auto bin = bin_levels_.begin() + row.first;
        if (row.last >= row.first)
            *out++ = *std::max_element(bin, bin_levels_.begin() + row.last + 1);
        else
            *out++ = static_cast<float>((1 - row.weight) * *(bin - 1) + row.weight * *bin);
    }
}

std::pair<double, double> LevelField::levels_for_drawing() const {
    std::vector<float> sorted = levels_;
    const auto twentieth = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 20);
    std::nth_element(sorted.begin(), twentieth, sorted.end());
    const double quiet = *twentieth;
    const double loud = *std::max_element(levels_.begin(), levels_.end());
    if (loud <= kSilence) return {-100, 0};
    const double ceiling = 10 * std::ceil(loud / 10);
    const double floor = 10 * std::floor(quiet / 10);
    return {std::clamp(floor, ceiling - 100, ceiling - 40), ceiling};
}

}  // namespace hearwood

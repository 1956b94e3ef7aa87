#include "listen/clip.h"

#include <algorithm>
#include <cmath>

namespace hearwood {

void to_common_level(std::vector<float>& samples) {
    if (samples.empty()) return;
    double sum = 0, squares = 0, peak = 0;
    for (const float x : samples) sum += x;
    const double mean = sum / static_cast<double>(samples.size());
    for (float& x : samples) {
        x = static_cast<float>(x - mean);
        squares += static_cast<double>(x) * x;
        peak = std::max(peak, std::abs(static_cast<double>(x)));
    }
    if (peak <= 0) return;
    const double level = 10 * std::log10(2 * squares / static_cast<double>(samples.size()));
    const double gain = std::min(std::pow(10, (kClipLevelDbfs - level) / 20), kClipPeak / peak);
    for (float& x : samples) x = static_cast<float>(x * gain);
}

}  // namespace hearwood

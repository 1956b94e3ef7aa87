#include "spectrum/window.h"

#include <cmath>
#include <numbers>

namespace hearwood {

std::vector<double> periodic_hann(int frame) {
    std::vector<double> window(frame);
    for (int n = 0; n < frame; ++n) {
        window[n] = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * n / frame);
    }
    return window;
}

double window_sum(const std::vector<double>& window) {
    double sum = 0;
    for (const double w : window) sum += w;
    return sum;
}

double window_power(const std::vector<double>& window) {
    double sum = 0;
    for (const double w : window) sum += w * w;
    return sum;
}

}  // namespace hearwood

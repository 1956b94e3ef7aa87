// The window of a frame and the scale of what the transform then gives.
#pragma once

#include <cmath>
#include <vector>

#include "index/engine/sample_levels.h"
#include "spectrum/window.h"

namespace hearwood {

struct FrameWindow {
    explicit FrameWindow(int frame) {
        const std::vector<double> hann = periodic_hann(frame);
        sum = window_sum(hann);
        power = window_power(hann);
        // Full scale becomes 2^-16 in amplitude (see kernels.h on cells); the half is that of the
        // packed transform.
        down = std::exp2(-16 - std::ceil(std::log2(sum)));
        scale = down * down;
        for (const double w : hann) of_float.push_back(static_cast<float>(0.5 * w * down));
        for (const double w : hann)
            of_int16.push_back(static_cast<float>(0.5 * w * down / unit_of<std::int16_t>()));
    }

    double sum = 0, power = 0;  ///< of the window itself, and of its squares
    double down = 1;            ///< the factor that the window is multiplied with
    double scale = 1;  ///< its square: |X|^2 in the sums is that of samples in [-1, 1) times this
    /// For the packed transform, of samples of 16 bits and of floats.
    std::vector<float> of_int16, of_float;
};

}  // namespace hearwood

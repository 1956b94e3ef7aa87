// The periodic Hann window, 0.5 - 0.5 cos(2 pi n / N), and the sums that scale a spectrum.
#pragma once

#include <vector>

namespace hearwood {

/// N coefficients, in double precision.
std::vector<double> periodic_hann(int frame);

/// Sum of the coefficients: |X[k]| g_k / window_sum is the amplitude of a sine on bin k.
double window_sum(const std::vector<double>& window);
/// Sum of the squared coefficients: |X[k]|^2 g_k / (fs window_power) is the one-sided power
/// spectral density.
double window_power(const std::vector<double>& window);

}  // namespace hearwood

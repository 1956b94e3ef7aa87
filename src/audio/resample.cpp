#include "audio/resample.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <numeric>
#include <stdexcept>

namespace hearwood {
namespace {

constexpr double kCrossings = 16;  // of the sinc, to each side

/// What a sample at distance x (in crossings) counts for.
double kernel(double x) {
    if (std::abs(x) >= kCrossings) return 0;
    const double angle = std::numbers::pi * x;
    const double sinc = x == 0 ? 1 : std::sin(angle) / angle;
    return sinc * (0.5 + 0.5 * std::cos(angle / kCrossings));
}

/// Output n stands at n * from / to of the input; with from and to without common divisor there are
/// `to` places between two inputs, each with weights of its own.
class Phases {
  public:
    Phases(std::int64_t from, std::int64_t to) : band_(std::min(1.0, ratio(to, from))) {
        reach_ = static_cast<std::int64_t>(std::ceil(kCrossings / band_));
        for (std::int64_t phase = 0; phase < to; ++phase)
            for (std::int64_t k = -reach_; k <= reach_ + 1; ++k)
                weights_.push_back(static_cast<float>(
                    band_ * kernel((ratio(phase, to) - static_cast<double>(k)) * band_)));
    }

    /// The value `phase` steps after input `at`.
    float value(std::span<const float> samples, std::int64_t at, std::int64_t phase) const {
        const std::int64_t taps = 2 * reach_ + 2;
        const float* weights = weights_.data() + phase * taps;
        const std::int64_t begin = at - reach_;  // the input of the first weight
        const std::int64_t first = std::max<std::int64_t>(0, begin);
        const std::int64_t last =
            std::min(static_cast<std::int64_t>(samples.size()) - 1, at + reach_ + 1);
        double sum = 0;
        for (std::int64_t k = first; k <= last; ++k) sum += weights[k - begin] * samples[k];
        return static_cast<float>(sum);
    }

  private:
    static double ratio(std::int64_t a, std::int64_t b) {
        return static_cast<double>(a) / static_cast<double>(b);
    }

    double band_;
    std::int64_t reach_ = 0;
    std::vector<float> weights_;  // [phase][tap]
};

}  // namespace

std::vector<float> resampled(std::span<const float> samples, int from_rate, int to_rate) {
    if (from_rate < 1 || to_rate < 1)
        throw std::invalid_argument("resampled: a rate that is not above 0 Hz");
    if (from_rate == to_rate) return {samples.begin(), samples.end()};
    const std::int64_t divisor = std::gcd(from_rate, to_rate);
    const std::int64_t from = from_rate / divisor, to = to_rate / divisor;
    const Phases phases(from, to);
    std::vector<float> result(
        static_cast<std::size_t>(static_cast<std::int64_t>(samples.size()) * to / from));
    for (std::size_t n = 0; n < result.size(); ++n) {
        const std::int64_t at = static_cast<std::int64_t>(n) * from;
        result[n] = phases.value(samples, at / to, at % to);
    }
    return result;
}

int playable_rate(int rate) {
    return std::clamp(rate, 8'000, 48'000);
}

}  // namespace hearwood

#include "demo/noise.h"

#include <cmath>
#include <numbers>

namespace hearwood {
namespace {

/// A full-scale sine has 0 dBFS, and a variance of 1/2.
double deviation_of(double dbfs) {
    return std::pow(10.0, dbfs / 20) / std::numbers::sqrt2;
}

/// Noise of that level behind the low pass, which leaves pole / (2 - pole) of a white variance.
DemoNoise low_noise(double dbfs, double pole) {
    return {deviation_of(dbfs) / std::sqrt(pole / (2 - pole)), pole};
}

constexpr double kRecorder_dbfs = -95;  // its own noise is white

}  // namespace

double DemoNoise::density(double hz) const {
    const double turn = 2 * std::numbers::pi * hz / kDemoSampleRate, keep = 1 - pole;
    return deviation * deviation * pole * pole / (1 + keep * keep - 2 * keep * std::cos(turn));
}

std::vector<DemoNoise> noises_of(const DemoSite& site) {
    std::vector<DemoNoise> noises{{deviation_of(kRecorder_dbfs), 1},
                                  low_noise(site.noise_dbfs, 0.75)};
    if (site.stream_dbfs > -100) noises.push_back(low_noise(site.stream_dbfs, 0.5));
    return noises;
}

}  // namespace hearwood

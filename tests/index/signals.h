// Signals that can be solved by hand, and one call to measure them.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <random>
#include <span>
#include <string>
#include <vector>

#include "index/catalogue.h"
#include "index/engine/segment_analyser.h"
#include "index/index_values.h"

namespace hearwood {

inline std::vector<float> sine(double amplitude, double hz, double rate, std::size_t samples,
                               double phase = 0) {
    std::vector<float> x(samples);
    for (std::size_t n = 0; n < samples; ++n) {
        x[n] = static_cast<float>(
            amplitude *
            std::sin(2 * std::numbers::pi * std::fmod(hz * static_cast<double>(n) / rate, 1.0) +
                     phase));
    }
    return x;
}

inline std::vector<float> white_noise(double deviation, std::size_t samples, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0, deviation);
    std::vector<float> x(samples);
    for (float& v : x) v = static_cast<float>(normal(random));
    return x;
}

inline std::vector<float> operator+(std::vector<float> a, const std::vector<float>& b) {
    for (std::size_t n = 0; n < a.size(); ++n) a[n] += b[n];
    return a;
}

inline std::vector<std::int16_t> as_int16(const std::vector<float>& x) {
    std::vector<std::int16_t> codes;
    for (const float v : x)
        codes.push_back(
            static_cast<std::int16_t>(std::lrint(std::clamp(v * 32768, -32768.0F, 32767.0F))));
    return codes;
}

struct Measured {
    SegmentSummary summary;
    std::vector<double> row;
    std::map<std::string, double> value;
};

template <typename T>
Measured measure(const std::vector<T>& samples, double rate, MeasureSettings settings = {},
                 int bits = 0, AnalyserOptions options = {}) {
    if (static_cast<double>(samples.size()) > settings.segment_s * rate) {
        settings.segment_s = static_cast<double>(samples.size()) / rate;
    }
    SegmentAnalyser analyser(settings, rate, options);
    analyser.begin(bits);
    analyser.add(std::span<const T>(samples));
    Measured result{analyser.finish(), {}, {}};
    result.row = index_values(result.summary, settings);
    const auto columns = index_columns(settings);
    for (std::size_t c = 0; c < columns.size(); ++c) result.value[columns[c].name] = result.row[c];
    return result;
}

}  // namespace hearwood

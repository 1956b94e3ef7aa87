#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <complex>
#include <cstring>
#include <numbers>
#include <random>
#include <thread>
#include <vector>

#include "spectrum/packed_fft_batch.h"
#include "spectrum/real_fft_batch.h"

using namespace hearwood;

namespace {

std::vector<float> noise(int count, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<float> normal;
    std::vector<float> x(count);
    for (float& v : x) v = normal(random);
    return x;
}

/// The definition, term by term, in double precision.
std::complex<double> dft_bin(const std::vector<float>& x, int k) {
    std::complex<double> sum = 0;
    for (std::size_t n = 0; n < x.size(); ++n) {
        const double turns = std::fmod(static_cast<double>(k) * static_cast<double>(n),
                                       static_cast<double>(x.size()));
        sum += static_cast<double>(x[n]) *
               std::polar(1.0, -2 * std::numbers::pi * turns / static_cast<double>(x.size()));
    }
    return sum;
}

// Single precision transforms of normal noise: the error stays near 1e-7 sqrt(N log N).
constexpr double kTolerance = 2e-5;

}  // namespace

TEST_CASE("a batch of real transforms agrees with the definition") {
    for (const int frame : {16, 130, 400, 512}) {
        RealFftBatch fft(frame, 3);
        std::vector<std::vector<float>> frames;
        for (int i = 0; i < 3; ++i) {
            frames.push_back(noise(frame, 10 + i));
            std::copy(frames[i].begin(), frames[i].end(), fft.input(i));
        }
        fft.execute();
        for (int i = 0; i < 3; ++i) {
            for (int k = 0; k < fft.bins(); ++k) {
                const auto expected = dft_bin(frames[i], k);
                CHECK(std::abs(std::complex<double>(fft.output(i)[k]) - expected) <
                      kTolerance * std::sqrt(frame));
            }
        }
    }
}

TEST_CASE("packed rows give the real frame's bins by the identity in the header") {
    for (const int frame : {16, 130, 400, 512}) {
        PackedFftBatch fft(frame, 2);
        const auto x = noise(frame, 7);
        std::copy(x.begin(), x.end(), fft.input(1));
        fft.execute();
        const int h = frame / 2;
        const float* row = fft.row(1);
        const auto z = [&](int k) { return std::complex<double>(row[2 * k], row[2 * k + 1]); };
        for (int k = 0; k <= h / 2; ++k) {
            const std::complex<double> i(0, 1);
            const auto e = z(k) + std::conj(z(h - k)), o = (z(k) - std::conj(z(h - k))) / i;
            const auto w = std::polar(1.0, -2 * std::numbers::pi * k / frame);
            CHECK(std::abs((e + w * o) / 2.0 - dft_bin(x, k)) < kTolerance * std::sqrt(frame));
            CHECK(std::abs(std::conj(e - w * o) / 2.0 - dft_bin(x, h - k)) <
                  kTolerance * std::sqrt(frame));
        }
    }
}

TEST_CASE("a frame's spectrum does not depend on its place in the batch") {
    for (const int frame : {130, 400, 512}) {
        PackedFftBatch fft(frame, 32);
        const auto x = noise(frame, 3);
        for (int i = 0; i < 32; ++i) std::copy(x.begin(), x.end(), fft.input(i));
        fft.execute();
        for (int i = 1; i < 32; ++i) {
            CHECK(std::memcmp(fft.row(0), fft.row(i), sizeof(float) * (frame + 2)) == 0);
        }
    }
}

TEST_CASE("transforms may be planned and run in several threads at once") {
    std::vector<float> first(16);
    std::vector<std::thread> threads;
    for (int t = 0; t < 16; ++t) {
        threads.emplace_back([&first, t] {
            RealFftBatch fft(96 + 2 * (t % 4), 4);
            const auto x = noise(fft.frame(), 1);
            std::copy(x.begin(), x.end(), fft.input(2));
            fft.execute();
            first[t] = fft.output(2)[1].real();
        });
    }
    for (auto& thread : threads) thread.join();
    for (int t = 4; t < 16; ++t) CHECK(first[t] == first[t - 4]);
}

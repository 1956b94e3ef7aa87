#include "activity/noise.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "base/sha256.h"
#include "spectrum/fftw_plan.h"
#include "statistics/random.h"

namespace hearwood {
namespace {

constexpr double kLeastSeconds = 120;

/// Mean A^2 of the bins at a frequency.
class Shape {
  public:
    explicit Shape(std::span<const double> band_db) {
        for (const double db : band_db)
            powers_.push_back(std::isinf(db) ? 0 : std::pow(10, db / 10));
    }
    double at(double hz) const {
        const double place = std::clamp(hz / EventGrid::kBackgroundBandHz - 0.5, 0.0,
                                        static_cast<double>(powers_.size() - 1));
        const auto below = static_cast<std::size_t>(place);
        const std::size_t above = std::min(below + 1, powers_.size() - 1);
        return powers_[below] +
               (powers_[above] - powers_[below]) * (place - static_cast<double>(below));
    }

  private:
    std::vector<double> powers_;
};

/// The bed is larger than the caches, and a processor that fetches ahead by itself stops at every
/// page: what comes two pages on is asked for in time.
void add_scaled(const float* noise, float factor, std::size_t count, float* out) {
    constexpr std::size_t kLine = 16, kAhead = 2048;  // floats
    std::size_t n = 0;
    for (; n + kLine <= count; n += kLine) {
        __builtin_prefetch(noise + n + kAhead);
        for (std::size_t i = n; i < n + kLine; ++i) out[i] += factor * noise[i];
    }
    for (; n < count; ++n) out[n] += factor * noise[n];
}

}  // namespace

std::uint64_t NoiseBed::number_of(const std::string& text) {
    return std::stoull(sha256_of(text).substr(0, 16), nullptr, 16);
}

// A spectrum whose lines have the wanted power and random quarter phases, transformed back. A frame
// of the analysis gathers thousands of lines in each of its bins, so that what it sees is Gaussian
// (central limit theorem) and stationary by construction.
NoiseBed::NoiseBed(std::span<const double> band_db, double sample_rate, std::int64_t longest,
                   const std::string& seed) {
    if (std::all_of(band_db.begin(), band_db.end(), [](double db) { return std::isinf(db); }))
        return;
    const auto least =
        std::max<std::int64_t>(2 * longest, std::llrint(kLeastSeconds * sample_rate));
    const auto length = std::bit_ceil(static_cast<std::uint64_t>(least));
    const EventGrid grid(sample_rate);
    const Shape shape(band_db);
    // One-sided density = A^2 / (3 df), df of the event grid (docs/even.md); a line holds density
    // fs / length of it, and half of each line stands at the negative frequency.
    const double to_line =
        sample_rate / static_cast<double>(length) / (3 * grid.grid().bin_width()) / 4;
    FftwBuffer<float> lines = fftw_floats(length + 2);
    std::uint64_t state = number_of(seed);
    std::uint64_t signs = 0;
    for (std::uint64_t j = 1; j < length / 2; ++j) {
        if (j % 32 == 1) signs = splitmix64(state);
        const double hz = static_cast<double>(j) * sample_rate / static_cast<double>(length);
        const auto size = static_cast<float>(std::sqrt(shape.at(hz) * to_line));
        lines[2 * j] = signs & 1U ? size : -size;
        lines[2 * j + 1] = signs & 2U ? size : -size;
        signs >>= 2;
    }
    const InverseRealPlan plan(static_cast<int>(length), lines.get());
    plan.execute();
    samples_.assign(lines.get(), lines.get() + length);
}

void NoiseBed::add(std::uint64_t name, std::int64_t from, float factor,
                   std::span<float> samples) const {
    if (samples_.empty()) return;
    std::size_t at =
        static_cast<std::size_t>((name + static_cast<std::uint64_t>(from)) % samples_.size());
    for (std::size_t done = 0; done < samples.size(); at = 0) {
        const std::size_t count = std::min(samples.size() - done, samples_.size() - at);
        const float* noise = samples_.data() + at;
        float* out = samples.data() + done;
        add_scaled(noise, factor, count, out);
        done += count;
    }
}

}  // namespace hearwood

#include "activity/chirp_filter.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <complex>
#include <numbers>

#include "activity/trial_sound.h"

namespace hearwood {
namespace {

/// A block holds so many chirps at least.
constexpr double kChirpsInBlock = 2.5;
/// The chirp's spectrum reaches so far beyond its band.
constexpr double kMargin = 1.1;
/// Points of the envelope per bin: its peak is then missed by less than 0.3 dB.
constexpr double kFineness = 1.5;

std::size_t chirp_samples_at(double sample_rate) {
    return static_cast<std::size_t>(std::llrint(kChirpSeconds * sample_rate));
}

}  // namespace

ChirpFilter::ChirpFilter(double sample_rate)
    : chirp_(chirp_samples_at(sample_rate)),
      block_(std::bit_ceil(static_cast<std::size_t>(kChirpsInBlock * static_cast<double>(chirp_)))),
      samples_(fftw_floats(block_)),
      spectrum_(fftw_floats(block_ + 2)),
      plan_(std::make_unique<RealPlan>(static_cast<int>(block_), 1, samples_.get(),
                                       static_cast<int>(block_), spectrum_.get(),
                                       static_cast<int>(block_ / 2 + 1))) {
    for (std::size_t band = 0; band < kTrialBands.size(); ++band)
        if (kTrialBands[band] * std::numbers::sqrt2 < sample_rate / 2) prepare(band, sample_rate);
    std::size_t coarsest = 1;
    for (std::size_t band = 0; band < bands(); ++band) coarsest = std::max(coarsest, step(band));
    lags_ = (block_ - chirp_) / coarsest * coarsest;
}

void ChirpFilter::prepare(std::size_t band, double sample_rate) {
    const double width = sample_rate / static_cast<double>(block_);
    const double low = kTrialBands[band] / std::numbers::sqrt2 / kMargin;
    const double high = kTrialBands[band] * std::numbers::sqrt2 * kMargin;
    Band made;
    made.first = static_cast<std::size_t>(low / width);
    made.count = std::min(static_cast<std::size_t>(high / width), block_ / 2) - made.first;
    made.points =
        std::bit_ceil(static_cast<std::size_t>(kFineness * static_cast<double>(made.count)));
    const std::vector<float> chirp = trial_chirp(band, sample_rate);
    double energy = 0;
    for (const float x : chirp) energy += static_cast<double>(x) * static_cast<double>(x);
    std::fill_n(samples_.get(), block_, 0.0F);
    std::copy(chirp.begin(), chirp.end(), samples_.get());
    plan_->execute();
    // Twice the positive half is the analytic signal; its size is the amplitude.
    const auto scale = static_cast<float>(2 / (energy * static_cast<double>(block_)));
    const float* lines = spectrum_.get() + 2 * made.first;
    for (std::size_t k = 0; k < 2 * made.count; ++k) made.chirp.push_back(lines[k] * scale);
    made.lines = fftw_floats(2 * made.points);
    made.out = fftw_floats(2 * made.points);
    const auto points = static_cast<int>(made.points);
    made.plan =
        std::make_unique<ComplexPlan>(points, 1, made.lines.get(), points, made.out.get(), points);
    made.power.resize(made.points);
    bands_.push_back(std::move(made));
}

// The inverse transform is the conjugate of the forward one of the conjugate, and only the size of
// its values is wanted: the product with the conjugate of the chirp goes in conjugated. That
// its bins begin at 0 turns the phase, not the size.
void ChirpFilter::filter(std::span<const float> samples) {
    std::copy(samples.begin(), samples.end(), samples_.get());
    std::fill(samples_.get() + samples.size(), samples_.get() + block_, 0.0F);
    plan_->execute();
    for (Band& band : bands_) {
        for (std::size_t k = 0; k < band.count; ++k) {
            const float* x = spectrum_.get() + 2 * (band.first + k);
            const std::complex<float> product =
                std::conj(std::complex(x[0], x[1])) *
                std::complex(band.chirp[2 * k], band.chirp[2 * k + 1]);
            band.lines[2 * k] = product.real();
            band.lines[2 * k + 1] = product.imag();
        }
        band.plan->execute();
        for (std::size_t i = 0; i < band.points; ++i) {
            const float re = band.out[2 * i], im = band.out[2 * i + 1];
            band.power[i] = re * re + im * im;
        }
    }
}

std::span<const float> ChirpFilter::power(std::size_t band) const {
    return std::span(bands_[band].power).first(lags_ / step(band));
}

}  // namespace hearwood

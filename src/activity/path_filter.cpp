#include "activity/path_filter.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numbers>

namespace hearwood {
namespace {

constexpr double kReachSeconds = 0.010;
constexpr double kBlocksOfReach = 16;

}  // namespace

// The wanted sizes, without phase, are transformed into a symmetric impulse response, which is cut
// to 2 reach + 1 samples by a Hann window: a real, even response delays all frequencies alike.
PathFilter::PathFilter(const std::function<double(double hz)>& weakening_db, double sample_rate)
    : reach_(static_cast<std::size_t>(std::llrint(kReachSeconds * sample_rate))),
      block_(std::bit_ceil(static_cast<std::size_t>(kBlocksOfReach * static_cast<double>(reach_)))),
      spectrum_(block_ + 2) {
    FftwBuffer<float> lines = fftw_floats(block_ + 2);
    for (std::size_t k = 0; k <= block_ / 2; ++k) {
        const double hz = static_cast<double>(k) * sample_rate / static_cast<double>(block_);
        lines[2 * k] =
            static_cast<float>(std::pow(10, -weakening_db(hz) / 20) / static_cast<double>(block_));
    }
    InverseRealPlan(static_cast<int>(block_), lines.get()).execute();
    // The response lies around sample 0: put it around sample `reach`.
    FftwBuffer<float> response = fftw_floats(block_);
    for (std::size_t n = 0; n <= 2 * reach_; ++n) {
        const double place = (static_cast<double>(n) - static_cast<double>(reach_)) /
                             (static_cast<double>(reach_) + 1);
        const double hann = 0.5 + 0.5 * std::cos(std::numbers::pi * place);
        response[n] = lines[(n + block_ - reach_) % block_] * static_cast<float>(hann);
    }
    FftwBuffer<float> spectrum = fftw_floats(block_ + 2);
    const auto length = static_cast<int>(block_);
    RealPlan(length, 1, response.get(), length, spectrum.get(), length / 2 + 1).execute();
    for (std::size_t k = 0; k < block_ + 2; ++k)
        spectrum_[k] = spectrum[k] / static_cast<float>(block_);
}

void PathFilterer::prepare(std::size_t block) {
    block_ = block;
    samples_ = fftw_floats(block);
    lines_ = fftw_floats(block + 2);
    const auto length = static_cast<int>(block);
    forth_ =
        std::make_unique<RealPlan>(length, 1, samples_.get(), length, lines_.get(), length / 2 + 1);
    back_ = std::make_unique<InverseRealPlan>(length, lines_.get());
}

// Overlap-save: of a circular convolution the first 2 reach samples are spoilt by what wraps round.
std::span<const float> PathFilterer::apply(const PathFilter& filter, std::span<const float> in) {
    if (block_ != filter.block()) prepare(filter.block());
    std::copy(in.begin(), in.end(), samples_.get());
    forth_->execute();
    const std::span<const float> wanted = filter.spectrum();
    for (std::size_t k = 0; k <= block_ / 2; ++k) {
        const float re = lines_[2 * k], im = lines_[2 * k + 1];
        lines_[2 * k] = re * wanted[2 * k] - im * wanted[2 * k + 1];
        lines_[2 * k + 1] = re * wanted[2 * k + 1] + im * wanted[2 * k];
    }
    back_->execute();
    return {lines_.get() + 2 * filter.reach(), filter.gives()};
}

}  // namespace hearwood

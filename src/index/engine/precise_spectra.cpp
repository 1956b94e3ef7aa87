#include "index/engine/precise_spectra.h"

#include <algorithm>
#include <cmath>

#include "platform/bits.h"
#include "spectrum/window.h"

namespace hearwood {
namespace {

std::int16_t cell_of_power(float power) {
    // Without sign, as in the kernels, so that not even a NaN gives a negative cell.
    const auto bits = bit_cast<std::uint32_t>(power);
    return static_cast<std::int16_t>(std::min(bits >> kCellShift, std::uint32_t{kCellMax}));
}

}  // namespace

PreciseSpectra::PreciseSpectra(int frame, int batch, double down, double loud_amplitude,
                               const SlotMap& slots, const Kernels& kernels)
    : frame_(frame),
      slots_(slots),
      window_(periodic_hann(frame)),
      cell_of_(slots.slots()),
      powers_(frame / 2 + 1),
      amplitudes_(powers_.size()),
      last_(powers_.size()),
      run_(powers_.size()),
      row_cells_(2 * kernels.lanes),
      in_distance_(frame),
      out_distance_(2 * powers_.size()),
      in_(fftw_doubles(in_distance_ * batch)),
      out_(fftw_doubles(out_distance_ * batch)),
      plan_(frame, batch, in_.get(), frame, out_.get(), frame / 2 + 1) {
    const double loud = loud_amplitude * window_sum(window_) * down;
    loud_power_.assign(powers_.size(), loud * loud / 4);
    loud_power_.front() = loud_power_.back() = loud * loud;
    for (double& w : window_) w *= down;
    for (int slot = 0; slot < slots.slots(); ++slot) {
        const int* place =
            std::find(kernels.cell_order, kernels.cell_order + row_cells_, slot % row_cells_);
        cell_of_[slot] = static_cast<int>(place - kernels.cell_order);
    }
}

template <typename T>
SampleSums PreciseSpectra::window_samples(const T* x, double unit, int i) {
    const double to_full_scale = 1 / unit;
    double* __restrict out = in_.get() + in_distance_ * i;
    const double* __restrict window = window_.data();
    constexpr int kSide = 4;  // sums side by side, so that additions need not wait for each other
    double sum[kSide] = {}, squares[kSide] = {}, peak[kSide] = {};
    int n = 0;
    for (; n + kSide <= frame_; n += kSide) {
        for (int s = 0; s < kSide; ++s) {
            const auto v = static_cast<double>(x[n + s]);
            const double size = std::abs(v);
            sum[s] += v;
            squares[s] += v * v;
            peak[s] = size > peak[s] ? size : peak[s];
            out[n + s] = v * to_full_scale * window[n + s];
        }
    }
    SampleSums sums;
    for (int s = 0; s < kSide; ++s) {
        sums.sum += sum[s];
        sums.squares += squares[s];
        sums.peak = std::max(sums.peak, peak[s]);
    }
    for (; n < frame_; ++n) {
        const auto v = static_cast<double>(x[n]);
        sums.sum += v;
        sums.squares += v * v;
        sums.peak = std::max(sums.peak, std::abs(v));
        out[n] = v * to_full_scale * window[n];
    }
    return sums;
}

template SampleSums PreciseSpectra::window_samples(const std::int32_t*, double, int);
template SampleSums PreciseSpectra::window_samples(const float*, double, int);
template SampleSums PreciseSpectra::window_samples(const double*, double, int);

void PreciseSpectra::sum_cells(int first, const CellRun& run, const CellSums& sums) {
    run_.begin();
    for (int f = 0; f < run.frames; ++f) {
        sum_frame(out_.get() + out_distance_ * (first + f), f > 0 || !run.starts_step);
        store_cells(run, f);
    }
    for (int slot = 0; slot < slots_.slots(); ++slot) {
        const int k = slots_.bin_of(slot);
        sums.power[slot] += run_.power[k];
        sums.step_amplitude[slot] += run_.amplitude[k];
        sums.step_difference[slot] += run_.difference[k];
        sums.loud[slot] += static_cast<std::uint32_t>(run_.loud[k]);
    }
}

void PreciseSpectra::keep_cells(const CellRun& run) {
    for (int f = 0; f < run.frames; ++f) {
        square_frame(out_.get() + out_distance_ * f);
        store_cells(run, f);
    }
}

void PreciseSpectra::square_frame(const double* row) {
    const std::ptrdiff_t bins = std::ssize(powers_);
    double* __restrict powers = powers_.data();
    for (std::ptrdiff_t k = 0; k < bins; ++k)
        powers[k] = row[2 * k] * row[2 * k] + row[2 * k + 1] * row[2 * k + 1];
}

void PreciseSpectra::sum_frame(const double* row, bool has_last) {
    const std::ptrdiff_t bins = std::ssize(powers_);
    // The compiler cannot know that none of these overlap.
    const double* __restrict powers = powers_.data();
    double* __restrict amplitudes = amplitudes_.data();
    const double* __restrict last = last_.data();
    const double* __restrict limit = loud_power_.data();
    double* __restrict power = run_.power.data();
    double* __restrict amplitude = run_.amplitude.data();
    double* __restrict difference = run_.difference.data();
    double* __restrict loud = run_.loud.data();
    square_frame(row);
    for (std::ptrdiff_t k = 0; k < bins; ++k) amplitudes[k] = std::sqrt(powers[k]);
    for (std::ptrdiff_t k = 0; k < bins; ++k) {
        power[k] += powers[k];
        amplitude[k] += amplitudes[k];
        loud[k] += powers[k] > limit[k] ? 1.0 : 0.0;
    }
    if (has_last) {
        for (std::ptrdiff_t k = 0; k < bins; ++k)
            difference[k] += std::abs(amplitudes[k] - last[k]);
    }
    std::swap(last_, amplitudes_);
}

void PreciseSpectra::store_cells(const CellRun& run, int frame) {
    std::int16_t* cells = run.cells + static_cast<std::size_t>(frame) * row_cells_;
    float* powers = run.powers + run.power_stride * frame;
    for (int slot = 0; slot < slots_.slots(); ++slot) {
        powers[slot] = static_cast<float>(powers_[slots_.bin_of(slot)]);
        cells[cell_of_[slot] + run.cell_stride * (slot / row_cells_)] = cell_of_power(powers[slot]);
    }
}

void PreciseSpectra::RunSums::begin() {
    for (auto* sums : {&power, &amplitude, &difference, &loud})
        std::fill(sums->begin(), sums->end(), 0.0);
}

}  // namespace hearwood

// Real frames transformed as complex ones of half the length, the form in which FFTW is fastest:
// the even samples are the real parts, the odd ones the imaginary parts, which is how they lie in
// memory anyway.
//
// With h = N/2, Z = DFT of z[n] = x[2n] + i x[2n+1] and W = exp(-2 pi i / N), the real frame's bins
// are, for k = 0..h/2 (textbook identity; Z[h] means Z[0], * the conjugate):
//
//     E = Z[k] + Z[h-k]*,  O = (Z[k] - Z[h-k]*) / i,  2 X[k] = E + W^k O,  2 X[h-k]* = E - W^k O
//
// Whoever reads the rows does this last step in registers (index/kernels.h).
#pragma once

#include <cstddef>

#include "spectrum/fftw_plan.h"

namespace hearwood {

class PackedFftBatch {
  public:
    /// REQUIRES: frame even, at least 16; batch >= 1. Errors: MachineError without a plan,
    /// std::bad_alloc.
    PackedFftBatch(int frame, int batch);

    int batch() const { return batch_; }
    /// The N samples of frame i; execute() may overwrite them.
    float* input(int i) { return in_.get() + static_cast<std::size_t>(i) * in_stride_; }
    void execute();
    /// Row i: Z[0..h] as pairs of floats, Z[h] a copy of Z[0].
    const float* row(int i) const { return out_.get() + static_cast<std::size_t>(i) * out_stride_; }
    /// Floats from one row to the next.
    std::size_t row_stride() const { return out_stride_; }

  private:
    int half_, batch_;
    std::size_t in_stride_, out_stride_;
    FftwBuffer<float> in_, out_;
    ComplexPlan plan_;
};

}  // namespace hearwood

// Many real transforms of one length in one call of FFTW (single precision).
#pragma once

#include <complex>
#include <cstddef>
#include <memory>

namespace hearwood {

/// Transforms `batch` real frames of `frame` samples at a time. X[k] = sum over n of x[n] exp(-2 pi
/// i k n / N), not scaled. Buffers and plan are made in the constructor; execute() allocates
/// nothing. One object per thread; constructors of several threads may run at once (the planner is
/// behind a lock), and so may execute(). The same input gives the same bits in every object of one
/// frame length and batch size.
class RealFftBatch {
  public:
    /// REQUIRES: frame >= 2, batch >= 1. Errors: MachineError when FFTW has no plan,
    /// std::bad_alloc.
    RealFftBatch(int frame, int batch);
    ~RealFftBatch();
    RealFftBatch(RealFftBatch&&) noexcept;
    RealFftBatch& operator=(RealFftBatch&&) noexcept;

    int frame() const { return frame_; }
    int batch() const { return batch_; }
    int bins() const { return frame_ / 2 + 1; }

    /// The `frame` samples of transform i; execute() may overwrite them.
    float* input(int i);
    void execute();
    /// The N/2 + 1 bins of transform i.
    const std::complex<float>* output(int i) const;

  private:
    struct State;
    int frame_, batch_;
    std::unique_ptr<State> state_;
};

}  // namespace hearwood

// Many real transforms of one length in one call of FFTW (single precision).
#pragma once

#include <complex>
#include <cstddef>
#include <memory>

namespace hearwood {

/// Transforms `batch` real frames of `frame` samples at a time. X[k] = sum over n of x[n] exp(-2 pi
/// i k n / N), not scaled. Buffers and plan are made in the constructor; execute() allocates
/// nothing. One object per thread; constructors of several threads may run at once (the planner is
/// behind a lock), and so may execute(). The same input gives the same bits whatever else is in the
/// batch, and in every object of the process.
class RealFftBatch {
  public:
    /// REQUIRES: frame >= 2, batch >= 1. Errors: MachineError when FFTW has no plan or memory.
    RealFftBatch(int frame, int batch);
    ~RealFftBatch();
    RealFftBatch(RealFftBatch&&) noexcept;
    RealFftBatch& operator=(RealFftBatch&&) noexcept;

    int frame() const { return frame_; }
    int batch() const { return batch_; }
    int bins() const { return frame_ / 2 + 1; }

    /// The `frame` samples of transform i; execute() may overwrite them.
    float* input(int i) { return input_ + static_cast<std::size_t>(i) * input_stride_; }
    void execute();
    /// The N/2 + 1 bins of transform i. 64-byte aligned for i = 0 and 16 floats of readable padding
    /// follow.
    const std::complex<float>* output(int i) const {
        return output_ + static_cast<std::size_t>(i) * output_stride_;
    }
    std::size_t output_stride() const { return output_stride_; }

  private:
    struct Plan;
    int frame_ = 0, batch_ = 0;
    std::size_t input_stride_ = 0, output_stride_ = 0;
    float* input_ = nullptr;
    std::complex<float>* output_ = nullptr;
    std::unique_ptr<Plan> plan_;
};

}  // namespace hearwood

#include "spectrum/packed_fft_batch.h"

namespace hearwood {
namespace {

/// Floats of a row of `complex_count` complex numbers, rounded up to whole cache lines.
std::size_t row_floats(int complex_count) {
    return (static_cast<std::size_t>(complex_count) * 2 + 15) / 16 * 16;
}

}  // namespace

PackedFftBatch::PackedFftBatch(int frame, int batch)
    : half_(frame / 2),
      batch_(batch),
      in_stride_(row_floats(half_)),
      out_stride_(row_floats(half_ + 1)),
      in_(fftw_floats(in_stride_ * batch)),
      out_(fftw_floats(out_stride_ * batch)),
      plan_(half_, batch, in_.get(), static_cast<int>(in_stride_ / 2), out_.get(),
            static_cast<int>(out_stride_ / 2)) {}

void PackedFftBatch::execute() {
    plan_.execute();
    for (int i = 0; i < batch_; ++i) {
        float* z = out_.get() + static_cast<std::size_t>(i) * out_stride_;
        float* last = z + 2 * static_cast<std::size_t>(half_);
        last[0] = z[0];
        last[1] = z[1];
    }
}

}  // namespace hearwood

#include "spectrum/real_fft_batch.h"

#include "spectrum/fftw_plan.h"

namespace hearwood {
namespace {

/// Rows a multiple of 64 bytes apart let FFTW use aligned vector loads in every transform of the
/// batch.
int padded(int count, int multiple) {
    return (count + multiple - 1) / multiple * multiple;
}

}  // namespace

struct RealFftBatch::State {
    State(int frame, int batch)
        : in_distance(padded(frame, 16)),
          out_distance(padded(frame / 2 + 1, 8)),
          in(fftw_floats(static_cast<std::size_t>(in_distance) * batch)),
          out(fftw_floats(static_cast<std::size_t>(out_distance) * 2 * batch)),
          plan(frame, batch, in.get(), in_distance, out.get(), out_distance) {}

    int in_distance, out_distance;
    FftwBuffer<float> in, out;
    RealPlan plan;
};

RealFftBatch::RealFftBatch(int frame, int batch)
    : frame_(frame), batch_(batch), state_(std::make_unique<State>(frame, batch)) {}
RealFftBatch::~RealFftBatch() = default;
RealFftBatch::RealFftBatch(RealFftBatch&&) noexcept = default;
RealFftBatch& RealFftBatch::operator=(RealFftBatch&&) noexcept = default;

float* RealFftBatch::input(int i) {
    return state_->in.get() + static_cast<std::size_t>(i) * state_->in_distance;
}

void RealFftBatch::execute() {
    state_->plan.execute();
}

const std::complex<float>* RealFftBatch::output(int i) const {
    return reinterpret_cast<const std::complex<float>*>(state_->out.get()) +
           static_cast<std::size_t>(i) * state_->out_distance;
}

}  // namespace hearwood

#include "index/engine/event_analysis.h"

#include <type_traits>

namespace hearwood {
namespace {

std::int64_t frames_in(std::int64_t samples, int frame) {
    return samples < frame ? 0 : (samples - frame) / frame + 1;
}

double to_square(const FrameWindow& window) {
    return 4 / (window.sum * window.sum * window.scale);
}

}  // namespace

EventAnalysis::Own::Own(const Kernels& kernels, const SlotMap& slots, const EventGrid& grid,
                        std::int64_t most_frames)
    : framer(grid.frame(), grid.frame()),
      batch(grid.frame(), kBatch),
      twiddles(slots.twiddles()),
      powers(static_cast<std::size_t>(kBatch) * slots.slots()),
      low_groups(slots.low_groups_below(grid.bins().last)),
      high_groups(slots.high_groups_below(grid.bins().last)),
      background(kernels, slots.groups(), most_frames, kBatch) {
    background.keep_places();
}

EventAnalysis::EventAnalysis(const Kernels& kernels, double sample_rate,
                             std::int64_t segment_samples, int frame, int hop, bool single_floats)
    : kernels_(kernels),
      single_floats_(single_floats),
      grid_(sample_rate),
      slots_(grid_.frame(), kernels),
      window_(grid_.frame()),
      most_frames_(frames_in(segment_samples, grid_.frame())),
      tiles_(kernels, slots_, grid_.bins(), most_frames_),
      finder_(kernels, grid_, slots_, to_square(window_), most_frames_) {
    if (frame != grid_.frame() || hop != frame)
        own_ = std::make_unique<Own>(kernels, slots_, grid_, most_frames_);
}

void EventAnalysis::begin() {
    tiles_.begin();
    if (!own_) return;
    own_->framer.begin();
    own_->background.begin();
    own_->waiting = 0;
}

template <typename T>
void EventAnalysis::add(std::span<const T> samples) {
    own_->single = std::is_same_v<T, std::int16_t> || (std::is_same_v<T, float> && single_floats_);
    if (!own_->single && !own_->precise) {
        own_->precise = std::make_unique<PreciseSpectra>(grid_.frame(), kBatch, window_.down, 1,
                                                         slots_, kernels_);
    }
    own_->framer.add(samples, [&](const T* x) { add_frame(x); });
}

template void EventAnalysis::add(std::span<const std::int16_t>);
template void EventAnalysis::add(std::span<const std::int32_t>);
template void EventAnalysis::add(std::span<const float>);
template void EventAnalysis::add(std::span<const double>);

template <typename T>
void EventAnalysis::add_frame(const T* x) {
    if constexpr (std::is_same_v<T, std::int16_t>)
        kernels_.apply_window(x, window_.of_int16.data(), grid_.frame(),
                              own_->batch.input(own_->waiting));
    else if (std::is_same_v<T, float> && own_->single)
        kernels_.apply_window_to_floats(reinterpret_cast<const float*>(x), window_.of_float.data(),
                                        grid_.frame(), own_->batch.input(own_->waiting));
    else
        own_->precise->window_samples(x, unit_of<T>(), own_->waiting);
    if (++own_->waiting == kBatch) transform();
}

void EventAnalysis::transform() {
    Own& own = *own_;
    own.single ? own.batch.execute() : own.precise->execute();
    const CellRun run{.rows = own.batch.row(0),
                      .row_stride = own.batch.row_stride(),
                      .frames = own.waiting,
                      .half = grid_.frame() / 2,
                      .groups = slots_.groups(),
                      .twiddle = own.twiddles.data(),
                      .loud_power = nullptr,
                      .low_groups = own.low_groups,
                      .high_groups = own.high_groups,
                      .starts_step = true,
                      .cells = own.background.next_rows(own.waiting),
                      .cell_stride = own.background.cell_stride(),
                      .powers = own.powers.data(),
                      .power_stride = static_cast<std::size_t>(slots_.slots())};
    own.single ? kernels_.keep_cells(run) : own.precise->keep_cells(run);
    tiles_.add(own.powers.data(), slots_.slots(), own.waiting);
    own.waiting = 0;
}

void EventAnalysis::finish(const Background& of_survey, SegmentSounds& sounds) {
    if (own_ && own_->waiting > 0) transform();
    if (tiles_.frames() == 0) {
        sounds = SegmentSounds{};
        return;
    }
    if (own_) own_->background.finish();
    finder_.find(tiles_, own_ ? own_->background : of_survey, sounds);
}

}  // namespace hearwood

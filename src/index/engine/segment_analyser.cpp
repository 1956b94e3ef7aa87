#include "index/engine/segment_analyser.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <stdexcept>
#include <type_traits>

#include "index/engine/background.h"
#include "index/engine/event_analysis.h"
#include "index/engine/frame_window.h"
#include "index/engine/framer.h"
#include "index/engine/kernels.h"
#include "index/engine/precise_spectra.h"
#include "index/engine/sample_levels.h"
#include "index/engine/slot_map.h"
#include "index/engine/slot_sums.h"
#include "index/engine/tick_bands.h"
#include "spectrum/frequency_grid.h"
#include "spectrum/packed_fft_batch.h"

namespace hearwood {
namespace {

/// Frames transformed at a time. 32 frames of 512 samples, their spectra and the powers kept for
/// the ticks are about 200 kB: a second-level cache holds them.
constexpr int kBatch = 32;
const double kLoudAmplitude = std::pow(10.0, -50 / 20.0);  ///< adi, aei: 20 log10 A above this
constexpr double kLoudTopHz = 10000;                       ///< and nothing above this frequency

}  // namespace

struct SegmentAnalyser::State {
    State(const MeasureSettings& settings, double sample_rate, const AnalyserOptions& options);

    template <typename T>
    void add(std::span<const T> samples);
    template <typename T>
    SampleSums window(const T* x);
    template <typename T>
    void add_frame(const T* x);
    template <typename T>
    void add_rest();
    void transform_batch();
    void finish();

    // What is fixed.
    const Kernels& kernels;
    bool single_floats;
    FrequencyGrid grid;
    int frame, hop, step_frames;
    std::int64_t segment_samples, most_frames;
    FrameWindow hann;
    SlotMap slots;
    std::vector<float> twiddles, loud_power;
    int low_groups = 0, high_groups = 0;

    // Scratch.
    Framer framer,
        chunker;  ///< frames; the same samples in runs without overlap, where hop and frame differ
    PackedFftBatch batch;
    std::unique_ptr<PreciseSpectra>
        precise;                ///< made when the first samples of more than 16 bits come
    std::vector<float> powers;  ///< of the batch, for the ticks
    SlotSums sums;
    Background background;
    TickBands tick_bands;
    EventAnalysis events;
    std::vector<double> interleaved;  ///< room for one channel of a piece of an interleaved block

    // Of the segment so far.
    int bits = 0;
    bool single = true;  ///< single precision does for this segment's samples
    int waiting = 0;     ///< frames in the batch
    SampleLevels levels;
    void (State::*rest)() = nullptr;  ///< add_rest of the type that was added
    SegmentSummary summary;
};

SegmentAnalyser::State::State(const MeasureSettings& settings, double sample_rate,
                              const AnalyserOptions& options)
    : kernels(hearwood::kernels(options.cpu)),
      single_floats(options.single_floats),
      grid(sample_rate, settings.frame),
      frame(settings.frame),
      hop(settings.hop),
      step_frames(static_cast<int>(settings.step_s * sample_rate / settings.hop)),
      segment_samples(std::llrint(settings.segment_s * sample_rate)),
      most_frames(segment_samples < frame ? 0 : (segment_samples - frame) / hop + 1),
      hann(frame),
      slots(frame, kernels),
      twiddles(slots.twiddles()),
      loud_power(slots.slots()),
      framer(frame, hop),
      chunker(frame, frame),
      batch(frame, kBatch),
      powers(static_cast<std::size_t>(kBatch) * slots.slots()),
      sums(slots.slots()),
      background(kernels, slots.groups(), most_frames, kBatch),
      tick_bands(kernels, slots, grid, hop),
      events(kernels, sample_rate, segment_samples, frame, hop, options.single_floats),
      interleaved(4096) {
    for (int slot = 0; slot < slots.slots(); ++slot) {
        const int k = slots.bin_of(slot);
        const double amplitude = kLoudAmplitude * hann.sum / (k == 0 || k == frame / 2 ? 1 : 2);
        loud_power[slot] = static_cast<float>(amplitude * amplitude * hann.scale);
    }
    const int low_bins = std::max({grid.bins_in(0, kLoudTopHz).last, tick_bands.bins_read(),
                                   events.shared() ? events.grid().bins().last : 0});
    if (events.shared()) background.keep_places();
    low_groups = slots.low_groups_below(low_bins);
    high_groups = slots.high_groups_below(low_bins);

    summary.sample_rate = sample_rate;
    summary.frame = frame;
    summary.hop = hop;
    summary.step_frames = step_frames;
    summary.tick_frames = tick_bands.tick_frames();
    summary.frame_mean_square.reserve(most_frames);
    if (tick_bands.there()) summary.tick_power.reserve(most_frames / tick_bands.tick_frames() + 1);
    for (auto* v : {&summary.mean_power, &summary.mean_amplitude, &summary.aci_ratio,
                    &summary.step_amplitude}) {
        v->resize(grid.bins());
    }
    summary.loud_cells.resize(grid.bins());
    summary.standout_cells.resize(grid.bins());
    summary.has_background.resize(grid.bins());
}

// ---- samples

template <typename T>
void SegmentAnalyser::State::add(std::span<const T> samples) {
    if (!rest) {
        rest = &State::add_rest<T>;
        levels.expect<T>(bits);
        single = std::is_same_v<T, std::int16_t> || (std::is_same_v<T, float> && single_floats);
        if (!single && !precise) {
            precise = std::make_unique<PreciseSpectra>(frame, kBatch, hann.down, kLoudAmplitude,
                                                       slots, kernels);
        }
    }
    summary.samples += static_cast<std::int64_t>(samples.size());
    framer.add(samples, [&](const T* x) { add_frame(x); });
    if (!events.shared()) events.add(samples);
    if (hop == frame) return;
    // The windowed samples are of no use here; the next frame will overwrite them.
    chunker.add(samples, [&](const T* x) { levels.add(x, frame, window(x)); });
}

/// Windows a frame into the next place of the batch.
template <typename T>
SampleSums SegmentAnalyser::State::window(const T* x) {
    if constexpr (std::is_same_v<T, std::int16_t>)
        return kernels.window_samples(x, hann.of_int16.data(), frame, batch.input(waiting));
    else if (std::is_same_v<T, float> && single)
        return kernels.window_floats(reinterpret_cast<const float*>(x), hann.of_float.data(), frame,
                                     batch.input(waiting));
    else
        return precise->window_samples(x, unit_of<T>(), waiting);
}

/// One frame: windowed into the batch; its level; with frames side by side also the sums over
/// samples.
template <typename T>
void SegmentAnalyser::State::add_frame(const T* x) {
    const SampleSums of_frame = window(x);
    constexpr double unit = unit_of<T>();
    summary.frame_mean_square.push_back(
        static_cast<float>(of_frame.squares / frame / (unit * unit)));
    if (hop == frame) levels.add(x, frame, of_frame);
    if (++waiting == kBatch) transform_batch();
}

/// The samples after the last whole frame or chunk.
template <typename T>
void SegmentAnalyser::State::add_rest() {
    levels.add_rest((hop == frame ? framer : chunker).template rest<T>());
}

// ---- frames

void SegmentAnalyser::State::transform_batch() {
    single ? batch.execute() : precise->execute();
    const CellSums view = sums.view();
    for (int done = 0; done < waiting;) {
        const int in_step =
            step_frames > 0 ? static_cast<int>(summary.frames % step_frames) : summary.frames;
        const int to_step_end = step_frames > 0 ? step_frames - in_step : waiting;
        const int run_frames = std::min(waiting - done, to_step_end);
        const CellRun run{.rows = batch.row(done),
                          .row_stride = batch.row_stride(),
                          .frames = run_frames,
                          .half = frame / 2,
                          .groups = slots.groups(),
                          .twiddle = twiddles.data(),
                          .loud_power = loud_power.data(),
                          .low_groups = low_groups,
                          .high_groups = high_groups,
                          .starts_step = in_step == 0,
                          .cells = background.next_rows(run_frames),
                          .cell_stride = background.cell_stride(),
                          .powers = powers.data() + static_cast<std::size_t>(done) * slots.slots(),
                          .power_stride = static_cast<std::size_t>(slots.slots())};
        single ? kernels.sum_cells(run, view) : precise->sum_cells(done, run, view);
        done += run_frames;
        summary.frames += run_frames;
        if (run_frames == to_step_end && step_frames > 0) {
            sums.end_step(true);
            ++summary.steps;
        }
    }
    if (tick_bands.there()) {
        tick_bands.add(powers.data(), slots.slots(), waiting, 1 / hann.scale, summary.tick_power);
    }
    if (events.shared()) events.add_powers(powers.data(), slots.slots(), waiting);
    waiting = 0;
}

void SegmentAnalyser::State::finish() {
    if (waiting > 0) transform_batch();
    if (rest) (this->*rest)();
    sums.end_step(false);
    if (summary.frames > 0) background.finish(sums.standout, sums.has_background);

    const double frames = std::max(summary.frames, 1);
    for (int k = 0; k < grid.bins(); ++k) {
        const int slot = slots.slot_of(k);
        const bool edge = k == 0 || k == frame / 2;
        const double g = edge ? 1 : 2;
        const double to_amplitude = g / hann.sum / std::sqrt(hann.scale);
        summary.mean_power[k] =
            sums.power[slot] / hann.scale * g / (grid.sample_rate() * hann.power) / frames;
        summary.mean_amplitude[k] = sums.amplitude[slot] * to_amplitude / frames;
        summary.step_amplitude[k] = sums.whole_steps[slot] * to_amplitude;
        summary.aci_ratio[k] = sums.ratio[slot];
        summary.loud_cells[k] = grid.frequency(k) < kLoudTopHz ? sums.loud[slot] : 0;
        summary.standout_cells[k] = edge ? 0 : sums.standout[slot];
        summary.has_background[k] = !edge && sums.has_background[slot];
    }
    levels.finish(summary);
    events.finish(background, summary.sounds);
}

// ---- the class

SegmentAnalyser::SegmentAnalyser(const MeasureSettings& settings, double sample_rate,
                                 const AnalyserOptions& options) {
    if (settings.frame < 16 || settings.frame % 2 != 0 || settings.hop < 1 ||
        !(settings.segment_s > 0) || !(settings.step_s > 0) || !(sample_rate > 0)) {
        throw std::invalid_argument("SegmentAnalyser: settings outside what survey.toml allows");
    }
    state_ = std::make_unique<State>(settings, sample_rate, options);
}
SegmentAnalyser::~SegmentAnalyser() = default;
SegmentAnalyser::SegmentAnalyser(SegmentAnalyser&&) noexcept = default;
SegmentAnalyser& SegmentAnalyser::operator=(SegmentAnalyser&&) noexcept = default;

std::int64_t SegmentAnalyser::segment_samples() const {
    return state_->segment_samples;
}

void SegmentAnalyser::begin(int bits) {
    State& s = *state_;
    s.bits = bits;
    s.waiting = 0;
    s.rest = nullptr;
    s.framer.begin();
    s.chunker.begin();
    s.levels.begin();
    s.sums.begin();
    s.background.begin();
    s.tick_bands.begin();
    s.events.begin();
    s.summary.samples = 0;
    s.summary.frames = s.summary.steps = 0;
    s.summary.frame_mean_square.clear();
    s.summary.tick_power.clear();
}

void SegmentAnalyser::add(std::span<const std::int16_t> samples) {
    state_->add(samples);
}
void SegmentAnalyser::add(std::span<const std::int32_t> samples) {
    state_->add(samples);
}
void SegmentAnalyser::add(std::span<const float> samples) {
    state_->add(samples);
}
void SegmentAnalyser::add(std::span<const double> samples) {
    state_->add(samples);
}

template <typename T>
void SegmentAnalyser::add_channel(std::span<const T> samples, int channels, int channel) {
    if (channels == 1) return add(samples);
    T* piece = reinterpret_cast<T*>(state_->interleaved.data());
    const std::size_t room = state_->interleaved.size();
    const std::size_t total = samples.size() / channels;
    for (std::size_t done = 0; done < total;) {
        const std::size_t count = std::min(room, total - done);
        const T* from = samples.data() + done * channels + channel;
        for (std::size_t n = 0; n < count; ++n) piece[n] = from[n * channels];
        add(std::span<const T>(piece, count));
        done += count;
    }
}

template void SegmentAnalyser::add_channel(std::span<const std::int16_t>, int, int);
template void SegmentAnalyser::add_channel(std::span<const std::int32_t>, int, int);
template void SegmentAnalyser::add_channel(std::span<const float>, int, int);
template void SegmentAnalyser::add_channel(std::span<const double>, int, int);

const SegmentSummary& SegmentAnalyser::finish() {
    state_->finish();
    return state_->summary;
}

}  // namespace hearwood

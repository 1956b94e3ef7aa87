// Samples of one channel in, the summary of a segment out: windowed frames, one batched transform,
// one pass over its cells. Everything that costs time in this program happens here.
#pragma once

#include <cstdint>
#include <memory>
#include <span>

#include "index/segment_summary.h"
#include "survey/settings.h"

namespace hearwood {

/// Which code runs the loops over samples and cells. Both give the same numbers within the
/// tolerance of docs/measures.md; the bits of a result may differ between them, never between two
/// runs of one.
enum class CpuPath {
    best,      ///< x86-64-v3 (AVX2, FMA) where the processor has it, else baseline
    narrow,    ///< the same to the bit, without the AVX-512 that some of it is faster with
    baseline,  ///< plain C++, any processor
};

struct AnalyserOptions {
    /// The environment variable HEARWOOD_CPU, read once, turns `best` into `baseline`, or into
    /// `narrow` when it is x86-64-v3.
    CpuPath cpu = CpuPath::best;
    /// Samples given as float are transformed in single precision, at the speed of 16-bit samples:
    /// for sound that has noise of its own far above the rounding.
    bool single_floats = false;
};

/// "x86-64-v3" or "baseline": what CpuPath::best means on this machine, HEARWOOD_CPU considered.
const char* cpu_path();

/// Measures segments of one channel, one after another:
///
///     analyser.begin(16);
///     while (...) analyser.add(block);      // std::span<const std::int16_t>, any lengths
///     const SegmentSummary& summary = analyser.finish();
///
/// Result bits depend on the samples, the settings and the CPU path only: not on how the samples
/// were cut into blocks, on what was measured before, or on the number of threads. All memory is
/// taken in the constructor: about 1.1 bytes a sample of a segment until that reaches 16 MB; longer
/// segments take 6 MB and 0.05 bytes a sample (at the default frame). One object per thread;
/// different objects may be made and used at once.
class SegmentAnalyser {
  public:
    /// REQUIRES: settings as survey.toml allows them (even frame >= 16, 1 <= hop, segment_s > 0),
    /// fs > 0.
    SegmentAnalyser(const MeasureSettings& settings, double sample_rate,
                    const AnalyserOptions& options = {});
    ~SegmentAnalyser();
    SegmentAnalyser(SegmentAnalyser&&) noexcept;
    SegmentAnalyser& operator=(SegmentAnalyser&&) noexcept;

    /// S = round(segment_s * fs), half to even: the length of a whole segment, and the most that
    /// add() takes.
    std::int64_t segment_samples() const;

    /// Starts a segment. `bits` is the depth of the recording (8, 16, 24, 32, or what it is), which
    /// says where its top and bottom code lie for the clipping count; 0 for floating-point and
    /// lossy recordings (1.0).
    void begin(int bits);

    /// The next samples of the segment. Integers are full scale at the ends of their type: int16_t
    /// holds 16-bit samples, int32_t holds any depth justified to the left, as libsndfile's
    /// sf_read_int gives it (and sf_read_short for 8 to 16 bits). float and double are full scale
    /// at 1. REQUIRES: no more than segment_samples() between begin() and finish(); one type per
    /// segment.
    void add(std::span<const std::int16_t> samples);
    void add(std::span<const std::int32_t> samples);
    void add(std::span<const float> samples);
    void add(std::span<const double> samples);

    /// The same for channel `channel` (from 0) of interleaved samples; samples.size() is a multiple
    /// of `channels`.
    template <typename T>
    void add_channel(std::span<const T> samples, int channels, int channel);

    /// The summary of what was added; valid until the next begin(). A segment shorter than one
    /// frame has summary.frames == 0.
    const SegmentSummary& finish();

  private:
    struct State;
    std::unique_ptr<State> state_;
};

extern template void SegmentAnalyser::add_channel(std::span<const std::int16_t>, int, int);
extern template void SegmentAnalyser::add_channel(std::span<const std::int32_t>, int, int);
extern template void SegmentAnalyser::add_channel(std::span<const float>, int, int);
extern template void SegmentAnalyser::add_channel(std::span<const double>, int, int);

}  // namespace hearwood

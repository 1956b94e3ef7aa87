// Segments measured on even terms: read once more, with noise added, without the bins of choirs.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "activity/noise.h"
#include "activity/path_filter.h"
#include "aggregate/even_terms.h"
#include "audio/audio_file.h"
#include "index/engine/segment_analyser.h"
#include "measure/feed_samples.h"
#include "store/store.h"

namespace hearwood {

/// A segment that is to be measured.
struct EvenTask {
    std::int64_t recording = 0;
    std::size_t deployment = 0;
    int channel = 0, segment = 0;
    std::int64_t first_sample = 0, samples = 0;
    std::int64_t terms = 0;  ///< fingerprint
};

/// What all segments of a site and window share.
struct EvenBed {
    NoiseBed noise;
    EventBands choirs;
    std::optional<PathFilter> path;  ///< where the path is measured
};

/// One thread's work.
class EvenMeasurer {
  public:
    EvenMeasurer(const MeasureSettings& settings, double sample_rate);

    /// Measures a segment of an open recording. `path` names the recording in the survey, `offset`
    /// is what levels of its deployment are above what was recorded, in dB. False when it cannot be
    /// read as it was when it was measured.
    bool measure(AudioFile& file, const std::string& path, const EvenTask& task, const EvenBed& bed,
                 double offset_db, EvenRow& row);

  private:
    /// The segment's noise, which samples from `from` on get before they are measured.
    struct Added {
        const NoiseBed& noise;
        std::uint64_t name;
        float factor;
    };
    bool read(AudioFile& file, const EvenTask& task, std::int64_t from, std::span<float> samples);
    void analyse(const Added& added, std::int64_t from, std::span<float> samples);
    bool feed(AudioFile& file, const EvenTask& task, const Added& added);
    bool feed_filtered(AudioFile& file, const EvenTask& task, const PathFilter& path,
                       const Added& added);
    std::vector<double> values(const EventBands& choirs);

    MeasureSettings settings_;
    EventGrid grid_;
    SegmentAnalyser analyser_;
    ReadBuffer block_;
    std::vector<float> samples_, filtered_;
    PathFilterer filterer_;
};

}  // namespace hearwood

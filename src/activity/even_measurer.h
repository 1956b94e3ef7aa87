// Segments measured on even terms: read once more, with noise added, without the bins of choirs.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "activity/noise.h"
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
    bool feed(AudioFile& file, const EvenTask& task, std::uint64_t name, const NoiseBed& noise,
              float factor);
    std::vector<double> values(const EventBands& choirs);

    MeasureSettings settings_;
    EventGrid grid_;
    SegmentAnalyser analyser_;
    ReadBuffer block_;
    std::vector<float> samples_;
};

}  // namespace hearwood

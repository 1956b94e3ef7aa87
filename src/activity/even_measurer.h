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
#include "index/engine/segment_analyser.h"
#include "measure/feed_samples.h"
#include "measure/open_recording.h"
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

/// What all segments of a site and window are heard through.
struct EvenBed {
    NoiseBed noise;
    std::optional<PathFilter> path;  ///< where the path is measured
};
EvenBed make_even_bed(const Survey& survey, const EvenTerms& terms, const EvenTerms::Place& place);

/// A recording as it was measured; nothing when it cannot be opened. `decided_rate`: the rate to
/// measure it at; 0: its own.
std::optional<OpenRecording> open_for_even(const std::filesystem::path& file, int decided_rate);

/// One thread's work.
class EvenMeasurer {
  public:
    EvenMeasurer(const MeasureSettings& settings, double sample_rate);

    /// Hears a segment of an open recording through a bed. `path` names the recording in the
    /// survey, `offset` is what levels of its deployment are above what was recorded, in dB. False
    /// when it cannot be read as it was when it was measured.
    bool hear(OpenRecording& recording, const std::string& path, const EvenTask& task,
              const EvenBed& bed, double offset_db);
    /// kEvenIndices of what was heard, without the bins of choirs. `settings` may differ from the
    /// measurer's in bands and range.
    std::vector<double> values(const EventBands& choirs, const MeasureSettings& settings);

  private:
    /// Where a segment's samples come from: the recording, or the segment brought to another rate.
    struct Source {
        OpenRecording& recording;
        int channel;
        std::int64_t first;   ///< of the segment's samples
        std::int64_t count;   ///< of the segment's samples
        std::int64_t frames;  ///< where what can be read ends
    };
    /// The segment's noise, which samples from `from` on get before they are measured.
    struct Added {
        const NoiseBed& noise;
        std::uint64_t name;
        float factor;
    };
    std::optional<Source> open(OpenRecording& recording, const EvenTask& task);
    bool read(const Source& source, std::int64_t from, std::span<float> samples);
    void analyse(const Added& added, std::int64_t from, std::span<float> samples);
    bool feed(const Source& source, const Added& added);
    bool feed_filtered(const Source& source, const PathFilter& path, const Added& added);

    EventGrid grid_;
    SegmentAnalyser analyser_;
    const SegmentSummary* heard_ = nullptr;
    ReadBuffer block_;
    std::vector<float> resampled_;  ///< the segment, of a recording with a decided rate
    std::vector<float> samples_, filtered_;
    PathFilterer filterer_;
};

}  // namespace hearwood

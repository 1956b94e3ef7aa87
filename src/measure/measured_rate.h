// The rate at which a deployment's recordings are measured: their own, or the lower one that a
// person decided on so that recorders can be compared.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "measure/feed_samples.h"
#include "measure/open_recording.h"

namespace hearwood {

/// What RecordingRow::settings holds of results that count: the hash of the settings, and the rate
/// where one was decided on (0: none). Empty without settings: no results.
std::string results_hash(const std::string& settings_hash, int decided_rate);

/// Reads frames of a recording at a lower rate (libsoxr, very high quality; what lies around them
/// is read as well, so that a segment's samples do not depend on where it begins).
class ResampledReader {
  public:
    /// Takes the samples of one block, interleaved, as the file has them, in -1 .. 1.
    using Original = std::function<void(std::span<const double>)>;
    /// Takes samples at the new rate.
    using Use = std::function<void(std::span<const double>)>;

    explicit ResampledReader(int rate) : rate_(rate) {}

    /// Frames [first, first + count) of the file, as `most` frames at the new rate: as many as last
    /// as long.
    /// `raw` sees each block of these frames before it is converted and may stop the reading by
    /// returning false. Returns the frames read; fewer than `count` when some could not be.
    std::int64_t read(OpenRecording& recording, std::int64_t first, std::int64_t count,
                      std::int64_t most, const std::function<bool(const void*, std::size_t)>& raw,
                      const Original& original, const Use& use, Losses& losses);

  private:
    int rate_;
    ReadBuffer buffer_;
    std::vector<double> samples_, resampled_;
};

}  // namespace hearwood

// Spectrogram of samples: time to the right, frequency up, level as brightness. Samples are pushed
// in blocks; memory depends on the picture's size and the frame, never on the recording's length.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "picture/image.h"

namespace hearwood {

/// A named range of frequencies drawn as two thin lines with its name.
struct PictureBand {
    std::string name;
    double low_hz = 0, high_hz = 0;
};

/// A stretch of time with a bar above the picture: filled where kept, hatched where excluded.
struct PictureMark {
    double from_s = 0, to_s = 0;  ///< from the picture's first sample
    bool kept = true;
    std::string label;  ///< e.g. the reason; may be empty
};

struct SpectrogramOptions {
    int width = 1000, height = 420;  ///< of the whole picture, axes included
    int frame = 512;                 ///< samples of a frame, even, at least 16
    bool axes = true;                ///< without axes the plot fills the picture
    double start_s = 0;              ///< what the time axis shows at the first sample
    double low_hz = 0;
    double high_hz = 0;  ///< 0: half the sample rate
    /// Levels (dBFS, a full-scale sine is 0) of the darkest and brightest colour. Nothing: chosen
    /// from the levels seen, on whole tens.
    std::optional<double> floor_db, ceiling_db;
    std::string title;  ///< one line above the plot; characters the small font lacks appear as '?'
    std::vector<PictureBand> bands;
    std::vector<PictureMark> marks;
};

/// Where the plot stands in the picture, and what its edges mean: for tests and overlays.
struct PlotArea {
    int x = 0, y = 0, width = 0, height = 0;
    double from_s = 0, to_s = 0;  ///< at the left edge of column x and the right edge of the last
    double low_hz = 0,
           high_hz = 0;  ///< at the lower edge of the lowest row, the upper edge of the highest
    double floor_db = 0, ceiling_db = 0;  ///< known only after finish()
};

class AudioFile;

/// Column c of the plot is the mean power of Hann frames spread evenly over its stretch of time, at
/// most half a frame apart (beyond the recording's ends there is silence). A row takes the loudest
/// bin it covers, or is interpolated between bins where rows are finer than bins. Level = 20 log10
/// A with A as in docs/measures.md: a full-scale sine on a bin centre is 0 dBFS.
class SpectrogramPainter {
  public:
    /// `samples`: how many will come. Errors: InputError for sizes or ranges that make no picture.
    SpectrogramPainter(double sample_rate, std::int64_t samples, SpectrogramOptions options);
    ~SpectrogramPainter();
    SpectrogramPainter(SpectrogramPainter&&) noexcept;
    SpectrogramPainter& operator=(SpectrogramPainter&&) noexcept;

    void add(std::span<const float> samples);
    /// Draws everything. Samples that never came count as silence.
    Image finish();
    const PlotArea& plot() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// Feeds `count` frames of one channel of a recording from frame `from` on; fewer where its end is
/// damaged.
void paint_stretch(AudioFile& file, std::uint64_t from, std::uint64_t count, int channel,
                   SpectrogramPainter& painter);

/// All in one call, for samples at hand.
Image draw_spectrogram(std::span<const float> samples, double sample_rate,
                       const SpectrogramOptions& options);

}  // namespace hearwood

// The day picture of a site: 24 hours of local time to the right, frequency up, and as brightness
// the share of each minute in which a bin stands out of its own background (docs/measures.md,
// 'standout'). Missing time is hatched wide, excluded time is hatched dense over what was heard.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "picture/image.h"

namespace hearwood {

struct DayPictureOptions {
    int width = 1200, height = 360;  ///< of the whole picture, axes included
    bool axes = true;                ///< without axes the plot fills the picture (thumbnails)
    double high_hz = 12'000;         ///< upper edge of the plot; the lower edge is 0
    double full_share = 0.5;  ///< the share of standing-out time that gets the brightest colour
    /// A gap of at most so many minutes shows the stretch before it: recorders often sound out only
    /// a minute in ten. The strip below the plot tells what was recorded; longer gaps are striped.
    double bridge_min = 0;
    std::string title;
    /// Minutes of the local day; nothing where the sun does not rise or set.
    std::optional<double> sunrise_min, sunset_min;
};

/// What is known of one stretch of a day (a segment). Several stretches at the same time (channels,
/// recorders, a repeated hour) are averaged.
struct DayStretch {
    double from_min = 0, to_min = 0;  ///< minutes of the local day, [from, to)
    bool kept = true;
    double bin_hz = 0;             ///< width of a bin
    std::span<const float> share;  ///< per bin from 0 Hz: 0..1; NaN where the bin has no background
};

/// Collects the stretches of one site and date, in any order, and draws them; the order of add()
/// does not change a pixel. Memory: one float per pixel of the plot.
class DayPicture {
  public:
    /// Errors: InputError for sizes that make no picture.
    explicit DayPicture(DayPictureOptions options);
    void add(const DayStretch& stretch);
    Image finish() const;
    /// The plot inside the picture.
    int plot_x() const { return x_; }
    int plot_y() const { return y_; }
    int plot_width() const { return plot_width_; }
    int plot_height() const { return plot_height_; }

  private:
    void layout_rows(double bin_hz, int bins);
    void rows_of(const DayStretch& stretch);
    std::vector<int> columns_shown() const;
    void draw_column(Image& image, int column, int from,
                     std::span<const std::uint8_t> places) const;
    void draw_strip(Image& image) const;
    void draw_frame(Image& image) const;
    void draw_sun(Image& image, const std::optional<double>& minutes, std::string_view word,
                  int scale) const;

    DayPictureOptions options_;
    int x_ = 0, y_ = 0, plot_width_ = 0, plot_height_ = 0;
    // Per pixel, column by column from the lowest row up; shares in 1/65536: whole numbers, so that
    // the order of adding is no matter.
    std::vector<std::int64_t> sum_;
    std::vector<int> count_;
    std::vector<int> kept_, excluded_;  // stretches per column
    std::vector<int> heard_;            // per column: rows below half of its highest sample rate
    std::vector<int> rows_;             // of the stretch in hand; -1: no value

    // Which bins a row covers, first..last (last < first: none), for stretches of this bin width.
    struct RowBins {
        int first, last;
    };
    std::vector<RowBins> row_bins_;
    double laid_out_hz_ = 0;
    int laid_out_bins_ = 0;
    int laid_out_rows_ = 0;  // those that these bins reach
};

}  // namespace hearwood

#include "picture/spectrogram_drawing.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "base/error.h"
#include "picture/axes.h"
#include "picture/font.h"

namespace hearwood {

namespace {

constexpr int kPowerLevels = 200;
constexpr int kMarkHeight = 6;  // pixels at scale 1

PlotBox box_of(const PlotArea& plot) {
    return {plot.x, plot.y, plot.width, plot.height};
}

int column_of(const PlotArea& plot, double seconds) {
    const double share = (seconds - plot.from_s) / (plot.to_s - plot.from_s);
    return plot.x + static_cast<int>(std::floor(share * plot.width));
}

/// The pixel row in which a frequency lies.
int row_of(const PlotArea& plot, double hz) {
    const double share = (hz - plot.low_hz) / (plot.high_hz - plot.low_hz);
    return plot.y + plot.height - 1 - static_cast<int>(std::floor(share * plot.height));
}

void draw_levels(Image& image, const LevelField& field, const PlotArea& plot) {
    const double range = plot.ceiling_db - plot.floor_db;
    for (int column = 0; column < plot.width; ++column)
        for (int row = 0; row < plot.height; ++row) {
            const double t = (field.at(column, row) - plot.floor_db) / range;
            image.set(plot.x + column, plot.y + plot.height - 1 - row,
                      level_index(t, kPowerLevels));
        }
}

void draw_bands(Image& image, const PlotArea& plot, const SpectrogramOptions& options, int scale) {
    for (const PictureBand& band : options.bands) {
        for (const double hz : {band.low_hz, band.high_hz})
            if (hz > plot.low_hz && hz < plot.high_hz)
                for (int x = 0; x < plot.width; ++x)
                    if (x / (4 * scale) % 2 == 0)
                        image.set(plot.x + x, row_of(plot, hz), kPaperIndex);
        const double top = std::min(band.high_hz, plot.high_hz);
        if (top <= plot.low_hz || band.low_hz >= plot.high_hz) continue;
        // The name stands on a strip of paper, readable over any level.
        const int y = std::max(row_of(plot, top), plot.y) + 3 * scale;
        const int width = std::min(text_width(band.name, scale) + 3 * scale, plot.width);
        image.fill(plot.x + 2 * scale, y - scale, width, (kLetterHeight + 1) * scale, kPaperIndex);
        draw_text(image, plot.x + 4 * scale, y, band.name, kInkIndex, scale);
    }
}

void draw_marks(Image& image, const PlotArea& plot, const SpectrogramOptions& options, int scale) {
    for (const PictureMark& mark : options.marks) {
        const int left = std::max(column_of(plot, plot.from_s + mark.from_s), plot.x);
        const int right = std::min(column_of(plot, plot.from_s + mark.to_s), plot.x + plot.width);
        if (right <= left) continue;
        const int y = plot.y - (kMarkHeight + 2) * scale, height = kMarkHeight * scale;
        if (mark.kept)
            image.fill(left, y, right - left, height, kInkIndex);
        else
            image.hatch(left, y, right - left, height, kInkIndex, 4 * scale);
        image.frame(left, y, right - left, height, kInkIndex);
        if (text_width(mark.label, scale) + 4 * scale < right - left)
            draw_text(image, left + 2 * scale, y - kLetterHeight * scale, mark.label, kInkIndex,
                      scale);
    }
}

void draw_axes(Image& image, const PlotArea& plot, const SpectrogramOptions& options, int scale) {
    const PlotBox box = box_of(plot);
    image.frame(plot.x - 1, plot.y - 1, plot.width + 2, plot.height + 2, kInkIndex);
    draw_text(image, 4 * scale, 2 * scale, options.title, kInkIndex, scale);

    int last_end = 0;
    for (const Tick& tick : time_ticks(plot.from_s, plot.to_s, plot.width / (70 * scale) + 1))
        draw_bottom_tick(image, box, std::min(column_of(plot, tick.value), plot.x + plot.width - 1),
                         tick.label, scale, last_end);
    const std::string unit = "time, " + std::string(time_unit(plot.to_s));
    draw_text(image, plot.x + (plot.width - text_width(unit, scale)) / 2,
              plot.y + plot.height + 17 * scale, unit, kInkIndex, scale);

    for (const Tick& tick :
         round_ticks(plot.low_hz / 1000, plot.high_hz / 1000, plot.height / (22 * scale) + 1))
        draw_left_tick(image, box, std::max(row_of(plot, 1000 * tick.value), plot.y), tick.label,
                       scale);
    draw_text(image, plot.x - 5 * scale - text_width("kHz", scale), plot.y - 14 * scale, "kHz",
              kInkIndex, scale);

    std::vector<Tick> levels =
        round_ticks(plot.floor_db, plot.ceiling_db, plot.height / (24 * scale) + 1);
    for (Tick& tick : levels)
        tick.value = (tick.value - plot.floor_db) / (plot.ceiling_db - plot.floor_db);
    draw_key(image, box, kPowerLevels, levels, "dBFS", scale);
}

}  // namespace

PlotArea plot_area(const SpectrogramOptions& options) {
    PlotArea plot{0, 0, options.width, options.height, 0, 0, options.low_hz, options.high_hz, 0, 0};
    if (options.axes) {
        const int scale = letter_scale(options.width);
        const bool labels =
            std::any_of(options.marks.begin(), options.marks.end(),
                        [](const PictureMark& mark) { return !mark.label.empty(); });
        plot.x = 40 * scale;
        plot.y = (16 + (options.title.empty() ? 0 : 13) +
                  (options.marks.empty() ? 0 : kMarkHeight + 2) + (labels ? kLetterHeight : 0)) *
                 scale;
        plot.width -= (40 + 52) * scale;
        plot.height -= plot.y + 28 * scale;
    }
    if (plot.width < 8 || plot.height < 8)
        throw InputError("the picture is too small for its axes",
                         "choose at least 100 x 60 pixels, or leave the axes out");
    return plot;
}

Image draw_field(const LevelField& field, const PlotArea& plot, const SpectrogramOptions& options) {
    Image image(options.width, options.height, picture_palette(kPowerLevels));
    const int scale = letter_scale(options.width);
    draw_levels(image, field, plot);
    draw_bands(image, plot, options, scale);
    if (!options.axes) return image;
    draw_marks(image, plot, options, scale);
    draw_axes(image, plot, options, scale);
    return image;
}

}  // namespace hearwood

// What spectrograms and day pictures share: their palette, ticks at round values, and the frame of
// a plot.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "picture/image.h"

namespace hearwood {

/// Indices into every picture's palette; the sequence, dark to bright, begins at kFirstLevel.
inline constexpr std::uint8_t kPaperIndex = 0, kInkIndex = 1, kSoftIndex = 2, kFirstLevel = 3;
std::vector<Colour> picture_palette(int levels);
/// The palette's index for t in 0..1.
std::uint8_t level_index(double t, int levels);

struct Tick {
    double value = 0;
    std::string label;
};

/// At 1, 2 or 5 times a power of ten inside [low, high], about `about` of them, as few digits as
/// tell them apart.
std::vector<Tick> round_ticks(double low, double high, int about);
/// Seconds at round times. Below two minutes the labels are seconds ("12.5"), above "m:ss" or
/// "h:mm:ss".
std::vector<Tick> time_ticks(double from_s, double to_s, int about);
/// "s", "min:s" or "h:min:s": what the labels of time_ticks() are.
std::string_view time_unit(double to_s);

/// Letters of small pictures are single, of large ones doubled.
int letter_scale(int width);

struct PlotBox {
    int x = 0, y = 0, width = 0, height = 0;
};
/// A tick line and label below the box, at x of the picture; labels that would touch the last one
/// are left out. `last_end` begins at 0 and is the caller's to keep.
void draw_bottom_tick(Image& image, const PlotBox& box, int x, std::string_view label, int scale,
                      int& last_end);
/// A tick line and label left of the box.
void draw_left_tick(Image& image, const PlotBox& box, int y, std::string_view label, int scale);
/// The colours with labels at given heights (0 the darkest, 1 the brightest), right of the box.
void draw_key(Image& image, const PlotBox& box, int levels, const std::vector<Tick>& ticks,
              std::string_view unit, int scale);

}  // namespace hearwood

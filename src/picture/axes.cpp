#include "picture/axes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "picture/font.h"

namespace hearwood {

namespace {

// Two thirds of the way from ink to paper: strokes that must not shout.
constexpr Colour kSoft{0x8a, 0x8f, 0x8d};

/// The smallest of 1, 2, 5 times a power of ten that is at least `least`.
double round_step(double least) {
    const double power = std::pow(10.0, std::floor(std::log10(least)));
    for (const double factor : {1.0, 2.0, 5.0})
        if (factor * power >= least * (1 - 1e-9)) return factor * power;
    return 10 * power;
}

double time_step(double least) {
    if (least <= 20) return round_step(least);
    for (const double step : {30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0,
                              10800.0, 21600.0, 43200.0, 86400.0})
        if (step >= least) return step;
    return 86400.0 * round_step(least / 86400.0);
}

std::string clock_label(double seconds) {
    const auto whole = static_cast<long long>(std::llround(seconds));
    if (whole < 3600) return fmt::format("{}:{:02}", whole / 60, whole % 60);
    return fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

/// From `low` to `high`, with a little room for rounding.
std::vector<double> multiples(double step, double low, double high) {
    const double first = std::ceil(low / step - 1e-9);
    std::vector<double> values;
    for (int i = 0; (first + i) * step <= high + 1e-9 * step; ++i)
        values.push_back((first + i) * step);
    return values;
}

}  // namespace

std::vector<Colour> picture_palette(int levels) {
    std::vector<Colour> palette{kPaper, kInk, kSoft};
    for (int i = 0; i < levels; ++i)
        palette.push_back(sequence_colour(static_cast<double>(i) / (levels - 1)));
    if (levels < 16) return palette;  // thumbnails have no letters
    // Between ink and paper, for the edges of letters.
    constexpr int kEdges = 7;
    for (int i = 1; i <= kEdges; ++i) {
        const auto mix = [&](std::uint8_t ink, std::uint8_t paper) {
            return static_cast<std::uint8_t>(ink + (paper - ink) * i / (kEdges + 1));
        };
        palette.push_back({mix(kInk.red, kPaper.red), mix(kInk.green, kPaper.green),
                           mix(kInk.blue, kPaper.blue)});
    }
    return palette;
}

std::uint8_t level_index(double t, int levels) {
    const double clipped = t > 0 ? std::min(t, 1.0) : 0.0;
    return static_cast<std::uint8_t>(kFirstLevel + std::lround(clipped * (levels - 1)));
}

std::vector<Tick> round_ticks(double low, double high, int about) {
    std::vector<Tick> ticks;
    if (!(high > low) || about < 1) return ticks;
    const double step = round_step((high - low) / about);
    const int digits = std::max(0, static_cast<int>(-std::floor(std::log10(step) + 1e-9)));
    for (const double at : multiples(step, low, high))
        ticks.push_back({at, fmt::format("{:.{}f}", at + 0.0, digits)});
    return ticks;
}

std::vector<Tick> time_ticks(double from_s, double to_s, int about) {
    if (to_s < 120) return round_ticks(from_s, to_s, about);
    std::vector<Tick> ticks;
    if (!(to_s > from_s) || about < 1) return ticks;
    const double step = std::max(1.0, time_step((to_s - from_s) / about));
    for (const double at : multiples(step, from_s, to_s)) ticks.push_back({at, clock_label(at)});
    return ticks;
}

std::string_view time_unit(double to_s) {
    return to_s < 120 ? "s" : to_s < 3600 ? "min:s" : "h:min:s";
}

int letter_scale(int width) {
    return width < 640 ? 1 : 2;
}

void draw_bottom_tick(Image& image, const PlotBox& box, int x, std::string_view label, int scale,
                      int& last_end) {
    image.fill(x, box.y + box.height, 1, 3 * scale, kInkIndex);
    const int width = text_width(label, scale) - scale;
    const int left = std::clamp(x - width / 2, 0, std::max(0, image.width - width));
    if (left < last_end) return;
    draw_text(image, left, box.y + box.height + 5 * scale, label, kInkIndex, scale);
    last_end = left + width + 2 * kLetterWidth * scale;
}

void draw_left_tick(Image& image, const PlotBox& box, int y, std::string_view label, int scale) {
    image.fill(box.x - 3 * scale, y, 3 * scale, 1, kInkIndex);
    // The middle of the letters (row 3 of 0..6) stands at the tick.
    draw_text(image, box.x - 5 * scale - text_width(label, scale), y - 3 * scale, label, kInkIndex,
              scale);
}

void draw_key(Image& image, const PlotBox& box, int levels, const std::vector<Tick>& ticks,
              std::string_view unit, int scale) {
    const int x = box.x + box.width + 8 * scale, width = 8 * scale;
    for (int row = 0; row < box.height; ++row) {
        const double t = (box.height - row - 0.5) / box.height;
        image.fill(x, box.y + row, width, 1, level_index(t, levels));
    }
    for (const Tick& tick : ticks) {
        const int y = box.y + static_cast<int>(std::lround((1 - tick.value) * (box.height - 1)));
        image.fill(x + width, y, 2 * scale, 1, kInkIndex);
        const int text_y = std::clamp(y - 3 * scale, box.y, box.y + box.height - 7 * scale);
        draw_text(image, x + width + 4 * scale, text_y, tick.label, kInkIndex, scale);
    }
    draw_text(image, x, box.y - 14 * scale, unit, kInkIndex, scale);
}

}  // namespace hearwood

#include "picture/day_picture.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/missing.h"
#include "picture/axes.h"
#include "picture/font.h"

namespace hearwood {

namespace {

constexpr double kDay = 1440;
constexpr int kShareLevels = 48;
constexpr int kThumbnailLevels = 13;  // with paper, ink and soft 16 colours: four bits a pixel
// Share of stationary noise that stands out (docs/measures.md): what is no more than that stays
// dark.
constexpr double kNoiseShare = 0.0187;
constexpr float kUnit = 65'536;  // shares are kept as whole numbers of 1 / kUnit
constexpr int kShareStep = 16;   // and told apart, as colours, in steps of so many
constexpr int kStripHeight = 4;  // pixels at scale 1

int levels_of(const DayPictureOptions& options) {
    return options.axes ? kShareLevels : kThumbnailLevels;
}

/// Square root: half the brightness at a quarter of the full share, since most calls are brief.
double brightness(double share, double full) {
    return std::sqrt(std::max(0.0, (share - kNoiseShare) / (full - kNoiseShare)));
}

/// The palette's place for shares in steps of kShareStep / kUnit, from 0 to the full share and
/// beyond.
std::vector<std::uint8_t> share_places(double full, int levels) {
    const auto steps = static_cast<int>(std::ceil(full * kUnit / kShareStep));
    std::vector<std::uint8_t> places;
    places.reserve(static_cast<std::size_t>(steps) + 1);
    for (int step = 0; step < steps; ++step)
        places.push_back(level_index(brightness(step * kShareStep / double{kUnit}, full), levels));
    places.push_back(level_index(1, levels));
    return places;
}

std::string clock_text(double minutes) {
    const int whole = static_cast<int>(std::lround(minutes));
    return fmt::format("{:02}:{:02}", whole / 60, whole % 60);
}

}  // namespace

DayPicture::DayPicture(DayPictureOptions options) : options_(std::move(options)) {
    plot_width_ = options_.width;
    plot_height_ = options_.height;
    if (options_.axes) {
        const int scale = letter_scale(options_.width);
        x_ = 32 * scale;
        y_ = (options_.title.empty() ? 17 : 30) * scale;
        plot_width_ -= (32 + 46) * scale;
        plot_height_ -= y_ + (28 + kStripHeight + 3) * scale;
    }
    if (plot_width_ < 8 || plot_height_ < 4)
        throw InputError("the day picture is too small for its axes",
                         "choose at least 200 x 80 pixels");
    if (!(options_.high_hz > 0) || !(options_.full_share > kNoiseShare))
        throw InputError("the day picture's range is empty",
                         fmt::format("choose a highest frequency above 0 and a full share above {}",
                                     kNoiseShare));
    const auto pixels =
        static_cast<std::size_t>(plot_width_) * static_cast<std::size_t>(plot_height_);
    sum_.assign(pixels, 0);
    count_.assign(pixels, 0);
    kept_.assign(static_cast<std::size_t>(plot_width_), 0);
    excluded_ = heard_ = kept_;
}

void DayPicture::layout_rows(double bin_hz, int bins) {
    if (bin_hz == laid_out_hz_ && bins == laid_out_bins_) return;
    laid_out_hz_ = bin_hz;
    laid_out_bins_ = bins;
    row_bins_.clear();
    laid_out_rows_ = 0;
    const double a_row = options_.high_hz / plot_height_ / bin_hz;
    for (int row = 0; row < plot_height_; ++row) {
        int first = static_cast<int>(std::ceil(row * a_row - 1e-9));
        int last = static_cast<int>(std::ceil((row + 1) * a_row - 1e-9)) - 1;
        if (last < first) first = last = static_cast<int>(std::lround((row + 0.5) * a_row));
        if (first < bins) laid_out_rows_ = row + 1;
        row_bins_.push_back({first, std::min(last, bins - 1)});
    }
}

void DayPicture::rows_of(const DayStretch& stretch) {
    layout_rows(stretch.bin_hz, static_cast<int>(stretch.share.size()));
    rows_.resize(row_bins_.size());
    for (std::size_t row = 0; row < rows_.size(); ++row) {
        float sum = 0;
        int count = 0;
        for (int k = row_bins_[row].first; k <= row_bins_[row].last; ++k) {
            const float share = stretch.share[static_cast<std::size_t>(k)];
            if (!is_missing(share)) sum += share, ++count;
        }
        rows_[row] =
            count > 0 ? static_cast<int>(std::lround(kUnit * sum / static_cast<float>(count))) : -1;
    }
}

void DayPicture::add(const DayStretch& stretch) {
    const double from = std::max(stretch.from_min, 0.0), to = std::min(stretch.to_min, kDay);
    if (!(to > from) || !(stretch.bin_hz > 0)) return;
    const double a_minute = plot_width_ / kDay;
    const int first = static_cast<int>(std::floor(from * a_minute + 1e-6));
    const int last = std::min(static_cast<int>(std::ceil(to * a_minute - 1e-6)), plot_width_);
    rows_of(stretch);
    for (int column = first; column < last; ++column) {
        const auto at = static_cast<std::size_t>(column);
        ++(stretch.kept ? kept_ : excluded_)[at];
        heard_[at] = std::max(heard_[at], laid_out_rows_);
        const std::size_t start = static_cast<std::size_t>(column) * rows_.size();
        for (std::size_t row = 0; row < rows_.size(); ++row)
            if (rows_[row] >= 0) {
                sum_[start + row] += rows_[row];
                ++count_[start + row];
            }
    }
}

/// Of each column the one whose stretches it shows: itself, the one before a short gap, or -1.
std::vector<int> DayPicture::columns_shown() const {
    std::vector<int> shown(static_cast<std::size_t>(plot_width_), -1);
    const double longest = options_.bridge_min * plot_width_ / kDay;
    int last = -1;
    for (int column = 0; column < plot_width_; ++column) {
        const auto at = static_cast<std::size_t>(column);
        if (kept_[at] == 0 && excluded_[at] == 0) continue;
        shown[at] = column;
        if (last >= 0 && column - last - 1 <= longest)
            std::fill(shown.begin() + last + 1, shown.begin() + column, last);
        last = column;
    }
    if (last >= 0 && plot_width_ - last - 1 <= longest)
        std::fill(shown.begin() + last + 1, shown.end(), last);
    return shown;
}

void DayPicture::draw_column(Image& image, int column, int from,
                             std::span<const std::uint8_t> places) const {
    const int spacing = options_.axes ? 4 * letter_scale(options_.width) : 4;
    const int x = x_ + column;
    const int heard = from < 0 ? 0 : heard_[static_cast<std::size_t>(from)];
    const std::size_t start = static_cast<std::size_t>(std::max(from, 0) * plot_height_);
    for (int row = 0; row < heard; ++row) {
        const std::size_t pixel = start + static_cast<std::size_t>(row);
        // A bin without a background: nothing stands out.
        const std::int64_t share = count_[pixel] == 0 ? 0 : sum_[pixel] / count_[pixel];
        const auto step = std::min(static_cast<std::size_t>(share) / kShareStep, places.size() - 1);
        image.set(x, y_ + plot_height_ - 1 - row, places[step]);
    }
    image.hatch(x, y_, 1, plot_height_ - heard, kSoftIndex, 2 * spacing);
    if (from >= 0 && kept_[static_cast<std::size_t>(from)] == 0)
        image.hatch(x, y_, 1, plot_height_, kPaperIndex, spacing);
}

/// Under the plot: ink where something was recorded and kept, stripes where it was excluded.
void DayPicture::draw_strip(Image& image) const {
    const int scale = letter_scale(options_.width);
    const int y = y_ + plot_height_ + 2 * scale, height = kStripHeight * scale;
    for (int column = 0; column < plot_width_; ++column) {
        const auto at = static_cast<std::size_t>(column);
        if (kept_[at] > 0)
            image.fill(x_ + column, y, 1, height, kInkIndex);
        else if (excluded_[at] > 0)
            image.hatch(x_ + column, y, 1, height, kInkIndex, 3);
    }
}

Image DayPicture::finish() const {
    const int levels = levels_of(options_);
    Image image(options_.width, options_.height, picture_palette(levels));
    const std::vector<int> shown = columns_shown();
    const std::vector<std::uint8_t> places = share_places(options_.full_share, levels);
    for (int column = 0; column < plot_width_; ++column)
        draw_column(image, column, shown[static_cast<std::size_t>(column)], places);
    if (options_.axes) {
        draw_strip(image);
        draw_frame(image);
    }
    return image;
}

void DayPicture::draw_frame(Image& image) const {
    const int scale = letter_scale(options_.width);
    const PlotBox box{x_, y_, plot_width_, plot_height_};
    const PlotBox with_strip{x_, y_, plot_width_, plot_height_ + (kStripHeight + 3) * scale};
    image.frame(x_ - 1, y_ - 1, plot_width_ + 2, plot_height_ + 2, kInkIndex);
    draw_text(image, 4 * scale, 2 * scale, options_.title, kInkIndex, scale);

    int last_end = 0;
    for (int hour = 0; hour <= 24; hour += 3)
        draw_bottom_tick(image, with_strip, x_ + std::min(hour * plot_width_ / 24, plot_width_ - 1),
                         fmt::format("{:02}:00", hour), scale, last_end);
    constexpr std::string_view kWords = "local time";
    draw_text(image, x_ + (plot_width_ - text_width(kWords, scale)) / 2,
              with_strip.y + with_strip.height + 17 * scale, kWords, kInkIndex, scale);
    for (const Tick& tick :
         round_ticks(0, options_.high_hz / 1000, plot_height_ / (22 * scale) + 1)) {
        const double share = 1000 * tick.value / options_.high_hz;
        const int row = static_cast<int>(std::floor(share * plot_height_));
        draw_left_tick(image, box, std::max(y_, y_ + plot_height_ - 1 - row), tick.label, scale);
    }
    draw_text(image, x_ - 5 * scale - text_width("kHz", scale), y_ - 14 * scale, "kHz", kInkIndex,
              scale);
    draw_sun(image, options_.sunrise_min, "sunrise", scale);
    draw_sun(image, options_.sunset_min, "sunset", scale);

    std::vector<Tick> key;
    for (const double share : {0.02, 0.1, 0.25, 0.5, 1.0})
        if (share <= options_.full_share)
            key.push_back({std::min(1.0, brightness(share, options_.full_share)),
                           fmt::format("{:.0f}%", 100 * share)});
    draw_key(image, box, kShareLevels, key, "share", scale);
}

void DayPicture::draw_sun(Image& image, const std::optional<double>& minutes, std::string_view word,
                          int scale) const {
    if (!minutes || *minutes < 0 || *minutes >= kDay) return;
    const int x = x_ + static_cast<int>(std::floor(*minutes * plot_width_ / kDay));
    for (int y = y_; y < y_ + plot_height_; ++y)
        if ((y - y_) / (3 * scale) % 2 == 0) image.set(x, y, kPaperIndex);
    image.fill(x, y_ - 4 * scale, 1, 3 * scale, kInkIndex);
    const std::string label = fmt::format("{} {}", word, clock_text(*minutes));
    const int width = text_width(label, scale);
    draw_text(image, std::clamp(x - width / 2, x_, std::max(x_, x_ + plot_width_ - width)),
              y_ - (4 + kLetterHeight) * scale, label, kInkIndex, scale);
}

}  // namespace hearwood

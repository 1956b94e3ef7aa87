#include "picture/image.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/error.h"

namespace hearwood {

Image::Image(int width_, int height_, std::vector<Colour> palette_)
    : width(width_), height(height_), palette(std::move(palette_)) {
    const bool sides = width >= 1 && height >= 1 && width <= kMaxSide && height <= kMaxSide;
    if (!sides || static_cast<std::int64_t>(width) * height > kMaxPixels)
        throw InputError(fmt::format("a picture of {} x {} pixels cannot be drawn", width, height),
                         fmt::format("choose sides of 1 to {} and at most {} million pixels",
                                     kMaxSide, kMaxPixels / 1'000'000));
    pixels.assign(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), 0);
}

void Image::set(int x, int y, std::uint8_t colour) {
    if (x >= 0 && y >= 0 && x < width && y < height) pixels[index(x, y)] = colour;
}

void Image::fill(int x, int y, int w, int h, std::uint8_t colour) {
    const int left = std::max(x, 0), right = std::min(x + w, width);
    if (left >= right) return;
    for (int row = std::max(y, 0); row < std::min(y + h, height); ++row)
        std::fill_n(pixels.begin() + static_cast<std::ptrdiff_t>(index(left, row)), right - left,
                    colour);
}

void Image::frame(int x, int y, int w, int h, std::uint8_t colour) {
    fill(x, y, w, 1, colour);
    fill(x, y + h - 1, w, 1, colour);
    fill(x, y, 1, h, colour);
    fill(x + w - 1, y, 1, h, colour);
}

void Image::hatch(int x, int y, int w, int h, std::uint8_t ink, int spacing) {
    for (int row = y; row < y + h; ++row)
        for (int column = x; column < x + w; ++column)
            if ((column + row) % spacing == 0) set(column, row, ink);
}

}  // namespace hearwood

// A picture of at most 256 colours in memory, and the few strokes that axes need. Pixel (0, 0) is
// the top left one; strokes outside the picture are cut off.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "picture/palette.h"

namespace hearwood {

struct Image {
    int width = 0, height = 0;
    std::vector<Colour> palette;       ///< at most 256
    std::vector<std::uint8_t> pixels;  ///< row by row, into the palette

    Image() = default;
    /// Filled with colour 0. Errors: InputError when a side is below 1 or above
    /// kMaxSide, or there would be more than kMaxPixels.
    Image(int width, int height, std::vector<Colour> palette);

    static constexpr int kMaxSide = 20'000;
    static constexpr std::int64_t kMaxPixels = 64'000'000;

    Colour at(int x, int y) const { return palette[pixels[index(x, y)]]; }
    std::uint8_t index_at(int x, int y) const { return pixels[index(x, y)]; }
    void set(int x, int y, std::uint8_t colour);
    void fill(int x, int y, int width, int height, std::uint8_t colour);
    void frame(int x, int y, int width, int height, std::uint8_t colour);
    /// Diagonal stripes, one pixel in four: what stands for 'missing' and, denser, for 'excluded'.
    void hatch(int x, int y, int width, int height, std::uint8_t ink, int spacing = 4);

  private:
    std::size_t index(int x, int y) const {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
               static_cast<std::size_t>(x);
    }
};

}  // namespace hearwood

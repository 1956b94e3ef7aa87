// Letters for pictures: a fixed-width face of our own, printable ASCII, drawn into images.
#pragma once

#include <string_view>

#include "picture/image.h"

namespace hearwood {

/// A cell is 6 x 9 pixels times the scale: 5 wide and one apart, 7 above the baseline and 2 below.
inline constexpr int kLetterWidth = 6, kLetterHeight = 9;

/// Pixels that the text takes from left to right.
int text_width(std::string_view text, int scale = 1);

/// (x, y) is the top left corner of the first cell. UTF-8; the minus sign and dashes are drawn as
/// '-', what else the face lacks as '?'. Corners are rounded when the scale is 2 or more.
void draw_text(Image& image, int x, int y, std::string_view text, std::uint8_t colour,
               int scale = 1);

}  // namespace hearwood

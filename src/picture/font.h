// Letters for pictures: the pages' own face, drawn into images with soft edges.
#pragma once

#include <string_view>

#include "picture/image.h"

namespace hearwood {

/// Room for a line of text, times the scale: 7 above the baseline and 2 below; a figure is about
/// 7 wide.
inline constexpr int kLetterWidth = 7, kLetterHeight = 9;

/// Pixels that the text takes from left to right.
int text_width(std::string_view text, int scale = 1);

/// (x, y) is the top left corner of the room. UTF-8; what the face lacks is drawn as '?'. An edge
/// pixel takes the colour of the palette that is nearest to the blend of text and ground, so that
/// edges are as soft as the palette has colours between. The scale is 1 or 2.
void draw_text(Image& image, int x, int y, std::string_view text, std::uint8_t colour,
               int scale = 1);

extern const std::string_view kLetters;  ///< as letters.py has it

}  // namespace hearwood

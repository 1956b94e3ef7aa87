// Lines for the terminal: 80 columns, whether it is a terminal or a file, so that a log reads the
// same.
#pragma once

#include <string>
#include <string_view>

namespace hearwood {

inline constexpr int kLineColumns = 80;

/// Characters (code points) of UTF-8 text: what a terminal shows side by side.
int characters(std::string_view text);
/// So many of them, or all there are.
std::string_view first_characters(std::string_view text, int count);

/// Padded to a width in characters, not bytes; longer text is kept whole.
std::string right(std::string_view text, int width);
std::string left(std::string_view text, int width);
/// Cut to a width with an ellipsis.
std::string cut(std::string_view text, int width);

/// Text wrapped between words at kLineColumns, further lines indented; spaces in front stay, a word
/// longer than a line (a path) stands whole on a line of its own, and a per cent sign stays with
/// its number. Ends with a line feed.
std::string wrapped(std::string_view text, int indent = 0);

/// A title with an empty line above it; entries of a list stand below.
std::string heading(std::string_view title);
/// An entry of a list: wrapped, so many columns in, further lines two more.
std::string list_entry(std::string_view text, int indent = 2);

}  // namespace hearwood

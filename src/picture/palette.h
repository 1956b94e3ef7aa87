// The colours of pages and pictures, and the arithmetic that proves them. OKLab after Ottosson 2020
// (formulas from memory, checked in the tests against values the tests derive from CIE XYZ);
// contrast after WCAG 2.
#pragma once

#include <array>
#include <cstdint>
#include <string>

namespace hearwood {

/// sRGB, 8 bits a channel.
struct Colour {
    std::uint8_t red = 0, green = 0, blue = 0;
    bool operator==(const Colour&) const = default;
};

/// L 0 (black) to 1 (white); a green to red, b blue to yellow, both about -0.4 to 0.4.
struct Oklab {
    double L = 0, a = 0, b = 0;
};

Oklab to_oklab(Colour colour);
/// Rounded to 8 bits; what lies outside sRGB is clipped channel by channel.
Colour from_oklab(Oklab colour);

/// WCAG 2 contrast ratio, 1 to 21, the same in either order.
double contrast_ratio(Colour one, Colour other);

/// "#0f6b63"
std::string hex(Colour colour);

inline constexpr Colour kPaper{0xfb, 0xf9, 0xf4};
inline constexpr Colour kInk{0x1f, 0x2a, 0x2e};
inline constexpr Colour kDarkPaper{0x14, 0x19, 0x1b};
inline constexpr Colour kDarkInk{0xe9, 0xe6, 0xdf};
inline constexpr Colour kClassA{0x0f, 0x6b, 0x63};
inline constexpr Colour kClassB{0xa6, 0x53, 0x12};
inline constexpr Colour kDarkClassA{0x5c, 0xc4, 0xb4};
inline constexpr Colour kDarkClassB{0xea, 0xa3, 0x5e};

/// The knots of the sequence for spectrograms, day pictures and heat maps, dark to bright.
inline constexpr std::array<Colour, 7> kSequenceKnots{{{0x0d, 0x15, 0x1b},
                                                       {0x17, 0x37, 0x43},
                                                       {0x2a, 0x64, 0x68},
                                                       {0x5f, 0x8f, 0x6a},
                                                       {0xb7, 0xad, 0x62},
                                                       {0xf1, 0xdc, 0xa0},
                                                       {0xfd, 0xf8, 0xe6}}};

/// t in 0..1 (outside is clipped, NaN gives the dark end): the sequence, interpolated in OKLab so
/// that lightness rises in proportion to t.
Colour sequence_colour(double t);

/// t in -1..1: class B's colour, paper at 0, class A's colour, interpolated in OKLab.
Colour difference_colour(double t);

}  // namespace hearwood

#include "picture/palette.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace hearwood {

namespace {

double linear(std::uint8_t channel) {
    const double c = channel / 255.0;
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

std::uint8_t channel(double light) {
    const double c = std::clamp(light, 0.0, 1.0);
    const double coded = c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1 / 2.4) - 0.055;
    return static_cast<std::uint8_t>(std::lround(255 * coded));
}

double luminance(Colour colour) {
    return 0.2126 * linear(colour.red) + 0.7152 * linear(colour.green) +
           0.0722 * linear(colour.blue);
}

Oklab between(Oklab from, Oklab to, double t) {
    return {from.L + t * (to.L - from.L), from.a + t * (to.a - from.a),
            from.b + t * (to.b - from.b)};
}

}  // namespace

Oklab to_oklab(Colour colour) {
    const double r = linear(colour.red), g = linear(colour.green), b = linear(colour.blue);
    const double l = std::cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
    const double m = std::cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
    const double s = std::cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
    return {0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
            1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
            0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s};
}

Colour from_oklab(Oklab colour) {
    const double l = std::pow(colour.L + 0.3963377774 * colour.a + 0.2158037573 * colour.b, 3);
    const double m = std::pow(colour.L - 0.1055613458 * colour.a - 0.0638541728 * colour.b, 3);
    const double s = std::pow(colour.L - 0.0894841775 * colour.a - 1.2914855480 * colour.b, 3);
    return {channel(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
            channel(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
            channel(-0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s)};
}

double contrast_ratio(Colour one, Colour other) {
    const double a = luminance(one), b = luminance(other);
    return (std::max(a, b) + 0.05) / (std::min(a, b) + 0.05);
}

std::string hex(Colour colour) {
    return fmt::format("#{:02x}{:02x}{:02x}", colour.red, colour.green, colour.blue);
}

Colour sequence_colour(double t) {
    if (!(t > 0)) return kSequenceKnots.front();
    if (t >= 1) return kSequenceKnots.back();
    const double first = to_oklab(kSequenceKnots.front()).L;
    const double last = to_oklab(kSequenceKnots.back()).L;
    const double lightness = first + t * (last - first);
    std::size_t knot = 0;
    while (knot + 2 < kSequenceKnots.size() && to_oklab(kSequenceKnots[knot + 1]).L < lightness)
        ++knot;
    const Oklab from = to_oklab(kSequenceKnots[knot]), to = to_oklab(kSequenceKnots[knot + 1]);
    return from_oklab(between(from, to, (lightness - from.L) / (to.L - from.L)));
}

Colour difference_colour(double t) {
    if (!(std::abs(t) > 0)) return kPaper;
    const Oklab end = to_oklab(t > 0 ? kClassA : kClassB);
    return from_oklab(between(to_oklab(kPaper), end, std::min(std::abs(t), 1.0)));
}

}  // namespace hearwood

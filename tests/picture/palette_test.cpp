// Colours: OKLab against its derivation from CIE XYZ, lightness that rises evenly, contrast ratios
// of WCAG 2.
#include "picture/palette.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>

using namespace hearwood;

namespace {

// Colours as people with a missing kind of cone see them: Vienot, Brettel & Mollon 1999 (matrices
// from memory), in linear light. What must hold is only that lightness still rises, so small errors
// there are no matter.
using Matrix = std::array<std::array<double, 3>, 3>;
constexpr Matrix kProtan{{{0.11238, 0.88762, 0}, {0.11238, 0.88762, 0}, {0.00401, -0.00401, 1}}};
constexpr Matrix kDeutan{{{0.29275, 0.70725, 0}, {0.29275, 0.70725, 0}, {-0.02234, 0.02234, 1}}};

double linear(double c) {
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}
double coded(double c) {
    return c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1 / 2.4) - 0.055;
}

Colour seen_by(const Matrix& eye, Colour colour) {
    const std::array<double, 3> light{linear(colour.red / 255.0), linear(colour.green / 255.0),
                                      linear(colour.blue / 255.0)};
    std::array<std::uint8_t, 3> out{};
    for (std::size_t i = 0; i < 3; ++i) {
        double sum = 0;
        for (std::size_t j = 0; j < 3; ++j) sum += eye[i][j] * light[j];
        out[i] = static_cast<std::uint8_t>(std::lround(255 * coded(std::clamp(sum, 0.0, 1.0))));
    }
    return {out[0], out[1], out[2]};
}

double distance(Colour one, Colour other) {
    const Oklab p = to_oklab(one), q = to_oklab(other);
    return std::hypot(p.L - q.L, p.a - q.a, p.b - q.b);
}

}  // namespace

TEST_CASE("OKLab has white at 1, black at 0, greys without colour") {
    CHECK(to_oklab({255, 255, 255}).L == Approx(1).margin(1e-4));
    CHECK(to_oklab({0, 0, 0}).L == Approx(0).margin(1e-9));
    for (const int grey : {10, 100, 200}) {
        const auto g = static_cast<std::uint8_t>(grey);
        CHECK(std::hypot(to_oklab({g, g, g}).a, to_oklab({g, g, g}).b) < 1e-4);
    }
}

// Ottosson's table of XYZ and OKLab pairs (published with the space, from memory): X = (1, 0, 0)
// gives L 0.450, a 1.236, b -0.019; (0, 1, 0) gives 0.922, -0.671, 0.263. They are outside sRGB, so
// the test goes through the same two matrices in XYZ form and compares with to_oklab for a colour
// inside.
TEST_CASE("OKLab agrees with its definition from CIE XYZ") {
    const Matrix xyz{{{0.4124564, 0.3575761, 0.1804375},
                      {0.2126729, 0.7151522, 0.0721750},
                      {0.0193339, 0.1191920, 0.9503041}}};
    const Matrix cones{{{0.8189330101, 0.3618667424, -0.1288597137},
                        {0.0329845436, 0.9293118715, 0.0361456387},
                        {0.0482003018, 0.2643662691, 0.6338517070}}};
    const Matrix lab{{{0.2104542553, 0.7936177850, -0.0040720468},
                      {1.9779984951, -2.4285922050, 0.4505937099},
                      {0.0259040371, 0.7827717662, -0.8086757660}}};
    const auto times = [](const Matrix& m, std::array<double, 3> v) {
        std::array<double, 3> r{};
        for (std::size_t i = 0; i < 3; ++i)
            for (std::size_t j = 0; j < 3; ++j) r[i] += m[i][j] * v[j];
        return r;
    };
    const auto from_xyz = [&](std::array<double, 3> v) {
        auto c = times(cones, v);
        for (double& x : c) x = std::cbrt(x);
        return times(lab, c);
    };
    CHECK(from_xyz({1, 0, 0})[0] == Approx(0.450).margin(5e-4));
    CHECK(from_xyz({1, 0, 0})[1] == Approx(1.236).margin(5e-4));
    CHECK(from_xyz({0, 1, 0})[2] == Approx(0.263).margin(5e-4));
    for (const Colour colour : {kClassA, kClassB, kSequenceKnots[3], Colour{255, 0, 0}}) {
        const auto expected =
            from_xyz(times(xyz, {linear(colour.red / 255.0), linear(colour.green / 255.0),
                                 linear(colour.blue / 255.0)}));
        const Oklab got = to_oklab(colour);
        // The two published sets of constants differ in the fourth digit.
        CHECK(got.L == Approx(expected[0]).margin(5e-4));
        CHECK(got.a == Approx(expected[1]).margin(5e-4));
        CHECK(got.b == Approx(expected[2]).margin(5e-4));
        CHECK(from_oklab(got) == colour);
    }
}

TEST_CASE("the sequence's lightness rises evenly, for every eye") {
    constexpr int kSteps = 200;
    const double first = to_oklab(sequence_colour(0)).L, last = to_oklab(sequence_colour(1)).L;
    CHECK(first == Approx(0.19).margin(0.005));
    CHECK(last == Approx(0.98).margin(0.005));
    double protan = -1, deutan = -1;
    for (int i = 0; i <= kSteps; ++i) {
        const double t = static_cast<double>(i) / kSteps;
        const Colour colour = sequence_colour(t);
        // Rounding to 8 bits moves lightness by up to about 0.004 in dark colours.
        CHECK(to_oklab(colour).L == Approx(first + t * (last - first)).margin(0.005));
        if (i % 10 != 0) continue;
        CHECK(to_oklab(seen_by(kProtan, colour)).L > protan + 0.01);
        CHECK(to_oklab(seen_by(kDeutan, colour)).L > deutan + 0.01);
        protan = to_oklab(seen_by(kProtan, colour)).L;
        deutan = to_oklab(seen_by(kDeutan, colour)).L;
    }
    for (const Colour knot : kSequenceKnots) {
        const double t = (to_oklab(knot).L - first) / (last - first);
        CHECK(distance(sequence_colour(t), knot) < 0.01);
    }
}

TEST_CASE("what lies outside the sequence is clipped") {
    CHECK(sequence_colour(-3) == kSequenceKnots.front());
    CHECK(sequence_colour(7) == kSequenceKnots.back());
    CHECK(sequence_colour(std::nan("")) == kSequenceKnots.front());
    CHECK(difference_colour(0) == kPaper);
    CHECK(difference_colour(1) == kClassA);
    CHECK(difference_colour(-2) == kClassB);
}

// WCAG 2.2: black on white is 21:1; #777777 on white is 4.48:1 (its well-known near miss of 4.5).
TEST_CASE("contrast ratios are those of WCAG, and text colours reach AA") {
    CHECK(contrast_ratio({0, 0, 0}, {255, 255, 255}) == Approx(21));
    CHECK(contrast_ratio({0x77, 0x77, 0x77}, {255, 255, 255}) == Approx(4.48).margin(0.005));
    CHECK(contrast_ratio(kInk, kPaper) > 13);
    CHECK(contrast_ratio(kDarkInk, kDarkPaper) > 13);
    CHECK(contrast_ratio(kClassA, kPaper) >= 4.5);
    CHECK(contrast_ratio(kClassB, kPaper) >= 4.5);
    CHECK(contrast_ratio(kDarkClassA, kDarkPaper) >= 4.5);
    CHECK(contrast_ratio(kDarkClassB, kDarkPaper) >= 4.5);
    CHECK(contrast_ratio(kInk, {0xf3, 0xe3, 0xb5}) >= 4.5);
    CHECK(contrast_ratio(kDarkInk, {0x4a, 0x3d, 0x14}) >= 4.5);
}

TEST_CASE("the two classes stay apart for colour-blind eyes") {
    for (const Matrix& eye : {kProtan, kDeutan}) {
        CHECK(distance(seen_by(eye, kClassA), seen_by(eye, kClassB)) > 0.08);
        CHECK(distance(seen_by(eye, kDarkClassA), seen_by(eye, kDarkClassB)) > 0.08);
    }
}

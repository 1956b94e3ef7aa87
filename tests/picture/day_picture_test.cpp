#include "picture/day_picture.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "base/error.h"

using namespace hearwood;

namespace {

constexpr double kBin = 46.875;  // 24 kHz, 512 samples

DayPictureOptions plain() {
    DayPictureOptions options;
    options.axes = false;
    options.width = 1440;
    options.height = 256;
    options.high_hz = 12'000;
    return options;
}

std::vector<float> shares(int loud_bin, float share) {
    std::vector<float> result(257, 0.0187f);
    result.front() = result.back() = std::numeric_limits<float>::quiet_NaN();
    result[static_cast<std::size_t>(loud_bin)] = share;
    return result;
}

double lightness(const Image& image, int x, int y) {
    return to_oklab(image.at(x, y)).L;
}

/// Pixels of bare paper in the upper `rows` of a column.
int paper_in(const Image& image, int column, int rows) {
    int count = 0;
    for (int y = 0; y < rows; ++y) count += image.at(column, y) == kPaper;
    return count;
}

}  // namespace

TEST_CASE("a minute's activity stands in its column and its bin's row") {
    DayPicture picture(plain());
    const auto share = shares(100, 0.5f);
    picture.add({360, 361, true, kBin, share});
    const Image image = picture.finish();
    const int row = 255 - 100;  // 256 rows of 46.875 Hz: a row a bin
    CHECK(image.at(360, row) == sequence_colour(1));
    CHECK(image.at(360, row + 1) == sequence_colour(0));
    CHECK(image.at(360, row - 1) == sequence_colour(0));
}

TEST_CASE(
    "missing time is striped paper, excluded time is striped but still shows what was heard") {
    DayPicture picture(plain());
    const auto share = shares(100, 0.5f);
    picture.add({100, 101, false, kBin, share});
    picture.add({101, 102, true, kBin, share});
    const Image image = picture.finish();
    CHECK(paper_in(image, 99, 256) > 200);  // missing: paper with thin stripes
    CHECK(paper_in(image, 99, 256) < 256);
    CHECK(paper_in(image, 100, 256) >= 60);  // excluded: every fourth pixel
    CHECK(paper_in(image, 100, 256) <= 68);
    CHECK(paper_in(image, 101, 256) == 0);
}

TEST_CASE("channels and repeated hours are averaged; the order of adding changes nothing") {
    const auto loud = shares(50, 0.5f), quiet = shares(50, 0.1f);
    DayPicture one(plain()), other(plain()), middle(plain());
    one.add({10, 11, true, kBin, loud});
    one.add({10, 11, true, kBin, quiet});
    other.add({10, 11, true, kBin, quiet});
    other.add({10, 11, true, kBin, loud});
    const auto half = shares(50, 0.3f);
    middle.add({10, 11, true, kBin, half});
    CHECK(one.finish().pixels == other.finish().pixels);
    CHECK(one.finish().at(10, 255 - 50) == middle.finish().at(10, 255 - 50));
}

TEST_CASE("thumbnails of sixteen colours keep brightness and gaps") {
    DayPictureOptions options = plain();
    options.width = 96;
    options.height = 32;
    DayPicture picture(options);
    const auto share = shares(100, 0.5f);
    for (int minute = 720; minute < 780; ++minute)
        picture.add({minute + 0.0, minute + 1.0, true, kBin, share});
    const Image image = picture.finish();
    CHECK(image.palette.size() == 16);
    // Row of bin 100 (4687.5 Hz) of 32 rows over 12 kHz: 12 from below, shared by eight bins.
    CHECK(lightness(image, 50, 31 - 12) > lightness(image, 50, 31 - 20) + 0.1);
    CHECK(paper_in(image, 10, 32) > 16);
}

TEST_CASE("a recorder that hears less high leaves the rows above it striped") {
    DayPictureOptions options = plain();
    options.high_hz = 24'000;
    DayPicture picture(options);
    const auto share = shares(100, 0.5f);
    picture.add({0, 1440, true, kBin, share});
    const Image image = picture.finish();
    CHECK(paper_in(image, 700, 120) > 80);
    for (int y = 130; y < 250; ++y) CHECK(image.at(700, y) != kPaper);
}

TEST_CASE("a recorder that hears higher later leaves the hours before it striped") {
    DayPictureOptions options = plain();
    options.high_hz = 24'000;
    const auto share = shares(100, 0.5f);
    const std::vector<float> higher(2 * share.size() - 1, 0.5f);
    DayPicture picture(options);
    picture.add({0, 720, true, kBin, share});
    picture.add({720, 1440, true, kBin, higher});
    const Image image = picture.finish();
    CHECK(paper_in(image, 300, 120) > 80);
    CHECK(paper_in(image, 1100, 120) == 0);
}

TEST_CASE("sun times are marked at their minute") {
    DayPictureOptions options;
    options.sunrise_min = 382;
    options.sunset_min = 1106;
    options.title = "L01, 4 May";
    DayPicture picture(options);
    const auto share = shares(100, 0.0f);
    picture.add({0, 1440, true, kBin, share});
    const Image image = picture.finish();
    const auto dashes = [&](double minute) {
        const int x = picture.plot_x() + static_cast<int>(minute / 1440 * picture.plot_width());
        int count = 0;
        for (int y = picture.plot_y(); y < picture.plot_y() + picture.plot_height(); ++y)
            count += image.at(x, y) == kPaper;
        return count;
    };
    CHECK(dashes(382) > picture.plot_height() / 3);
    CHECK(dashes(1106) > picture.plot_height() / 3);
    CHECK(dashes(700) == 0);
}

TEST_CASE("sizes without room are refused") {
    DayPictureOptions options;
    options.width = 80;
    CHECK_THROWS_AS(DayPicture(options), InputError);
    options = plain();
    options.full_share = 0.01;
    CHECK_THROWS_AS(DayPicture(options), InputError);
}

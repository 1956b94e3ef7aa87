#include <algorithm>
#include <catch2/catch.hpp>

#include "signals.h"

using namespace hearwood;

namespace {

double clipped_samples(const std::vector<std::int16_t>& x, int bits) {
    const auto m = measure(x, 48000, {}, bits);
    return m.value.at("clipped_fraction") * static_cast<double>(x.size());
}

std::vector<std::int16_t> with(std::size_t size, std::size_t at,
                               const std::vector<std::int16_t>& codes) {
    std::vector<std::int16_t> x(size, 100);
    std::copy(codes.begin(), codes.end(), x.begin() + static_cast<std::ptrdiff_t>(at));
    return x;
}

}  // namespace

TEST_CASE("clipping counts runs of two or more at the top or bottom code") {
    CHECK(clipped_samples(with(5000, 100, {32767}), 16) == 0);
    CHECK(clipped_samples(with(5000, 100, {32767, 5, 32767}), 16) == 0);
    CHECK(clipped_samples(with(5000, 100, {32767, 32767}), 16) == Approx(2));
    CHECK(clipped_samples(with(5000, 100, {-32768, -32768, -32767}), 16) == Approx(3));
    CHECK(clipped_samples(with(5000, 100, {32767, -32768, 5, 32767, 32767, 32767}), 16) ==
          Approx(5));
    CHECK(clipped_samples(with(5000, 100, {32766, 32766}), 16) == 0);
}

TEST_CASE("runs go on from frame to frame and end with the segment") {
    CHECK(clipped_samples(with(5000, 511, {32767, 32767}), 16) == Approx(2));
    CHECK(clipped_samples(with(5000, 512 * 9 - 1, {32767, 32767, 32767}), 16) ==
          Approx(3));  // into the rest
    CHECK(clipped_samples(with(5000, 4999, {32767}), 16) == 0);
    SegmentAnalyser analyser(MeasureSettings{}, 48000);
    const std::vector<std::int16_t> top(512, 100);
    auto last = top;
    last[511] = 32767;
    auto first = top;
    first[0] = 32767;
    for (const auto& segment : {last, first}) {
        analyser.begin(16);
        analyser.add(std::span<const std::int16_t>(segment));
        CHECK(analyser.finish().clipped == 0);
    }
}

TEST_CASE("the top code is that of the recording's depth") {
    const std::vector<std::int16_t> eight{127 * 256, 127 * 256, -127 * 256, 126 * 256, 126 * 256};
    CHECK(clipped_samples(with(5000, 10, eight), 8) == Approx(3));
    CHECK(clipped_samples(with(5000, 10, eight), 16) == 0);
    std::vector<std::int32_t> wide(5000, 0);
    wide[10] = wide[11] = (8388607 << 8);
    wide[20] = wide[21] = (8388606 << 8);
    CHECK(measure(wide, 48000, {}, 24).summary.clipped == 2);
    CHECK(measure(wide, 48000, {}, 32).summary.clipped == 0);
    wide[30] = wide[31] = 2147483647;
    CHECK(measure(wide, 48000, {}, 32).summary.clipped == 2);
}

TEST_CASE("floating-point recordings clip at 1") {
    std::vector<float> x(5000, 0.1F);
    x[10] = x[11] = 1.0F;
    x[20] = x[21] = 0.99999F;
    x[30] = -1.5F;
    x[31] = 1.25F;
    CHECK(measure(x, 48000).summary.clipped == 4);
    CHECK(measure(x, 48000).value.at("peak_dbfs") == Approx(20 * std::log10(1.5)));
}

TEST_CASE("overlapping frames do not count a clipped sample twice") {
    MeasureSettings settings;
    settings.hop = 128;
    CHECK(measure(with(5000, 700, {32767, 32767, 32767}), 48000, settings, 16).summary.clipped ==
          3);
    settings.hop = 700;  // nor do gaps between frames lose one
    CHECK(measure(with(5000, 600, {32767, 32767, 32767}), 48000, settings, 16).summary.clipped ==
          3);
}

#include <catch2/catch.hpp>

#include "spectrum/frequency_grid.h"
#include "spectrum/window.h"

using namespace hearwood;

TEST_CASE("a bin on a band's edge belongs to the band that begins there") {
    const FrequencyGrid grid(48000, 512);  // df = 93.75 Hz, exact
    CHECK(grid.bins() == 257);
    CHECK(grid.bins_in(93.75, 187.5) == BinRange{1, 2});
    CHECK(grid.bins_in(0, 93.75) == BinRange{0, 1});
    CHECK(grid.bins_in(93.76, 187.5) == BinRange{2, 2});
    CHECK(grid.bins_in(93.76, 187.5).count() == 0);
    CHECK(grid.bins_in(2000, 8000) == BinRange{22, 86});  // 21.3 -> 22; 85.33 -> 85 is the last
    CHECK(grid.bins_from(200) == BinRange{3, 257});
    CHECK(grid.bins_from(24000) == BinRange{256, 257});
    CHECK(grid.bins_from(24001).count() == 0);
}

TEST_CASE("bands follow k fs / N with one rounding at every rate and frame length") {
    for (const double rate :
         {8000.0, 11025.0, 22050.0, 44100.0, 48000.0, 96000.0, 192000.0, 250000.0}) {
        for (const int frame : {16, 130, 400, 512, 1000, 4096}) {
            const FrequencyGrid grid(rate, frame);
            for (double low = 0; low < rate / 2; low += 500) {
                const BinRange bins = grid.bins_in(low, low + 1000);
                for (int k = 0; k <= frame / 2; ++k) {
                    const double f = k * rate / frame;
                    if (bins.contains(k) != (low <= f && f < low + 1000)) {
                        FAIL(rate << " Hz, frame " << frame << ", bin " << k << ", band from "
                                  << low);
                    }
                }
            }
        }
    }
}

TEST_CASE("a band that reaches above half the sample rate is not wholly there") {
    CHECK(FrequencyGrid(16000, 512).wholly_there(8000));
    CHECK_FALSE(FrequencyGrid(16000, 512).wholly_there(8000.5));
}

TEST_CASE("the window is the periodic one: its sums are N/2 and 3N/8") {
    // Sum of cos^0 .. cos^4 over whole periods, solved by hand.
    for (const int frame : {16, 400, 512}) {
        const auto window = periodic_hann(frame);
        REQUIRE(window.size() == static_cast<std::size_t>(frame));
        CHECK(window[0] == 0);
        CHECK(window[frame / 2] == Approx(1));
        CHECK(window[1] == Approx(window[frame - 1]));
        CHECK(window_sum(window) == Approx(frame / 2.0));
        CHECK(window_power(window) == Approx(frame * 3 / 8.0));
    }
}

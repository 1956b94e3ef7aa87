#include "index/kept_spectrum.h"

#include <catch2/catch.hpp>
#include <limits>

#include "base/error.h"
#include "base/missing.h"
#include "signals.h"

using namespace hearwood;

TEST_CASE("a kept spectrum comes back within its promise, and its bytes come back the same") {
    const auto m =
        measure(white_noise(0.01, 48000 * 10, 1) + sine(0.3, 3000, 48000, 48000 * 10), 48000);
    const KeptSpectrum kept = kept_spectrum(m.summary);
    const std::string bytes = encode(kept);
    CHECK(bytes.size() == 1 + 3 * 257);
    const KeptSpectrum back = decode_kept_spectrum(bytes);
    REQUIRE(back.bins() == 257);
    for (int k = 0; k < 257; ++k) {
        CHECK(static_cast<double>(kept.power_db[k]) ==
              Approx(10 * std::log10(m.summary.mean_power[k])));
        CHECK(std::abs(back.power_db[k] - kept.power_db[k]) <= 0.00501F);
        if (m.summary.has_background[k]) {
            const double s = static_cast<double>(kept.standout[k]);
            CHECK(std::abs(static_cast<double>(back.standout[k]) - s) <= std::sqrt(s) / 254 + 1e-5);
        } else {
            CHECK(is_missing(back.standout[k]));
        }
    }
    CHECK(encode(back) == bytes);
}

TEST_CASE("the ends of the scales are exact") {
    KeptSpectrum kept;
    const float nothing = -std::numeric_limits<float>::infinity();
    kept.power_db = {nothing, -327.67F, 0, 327.67F, -1000, 1000};
    kept.standout = {std::numeric_limits<float>::quiet_NaN(), 0, 1, 1e-9F, 0.25F, 0};
    const KeptSpectrum back = decode_kept_spectrum(encode(kept));
    CHECK(back.power_db == std::vector<float>{nothing, -327.67F, 0, 327.67F, -327.67F, 327.67F});
    CHECK(is_missing(back.standout[0]));
    CHECK(back.standout[1] == 0);
    CHECK(back.standout[2] == 1);
    CHECK(back.standout[3] > 0);
    CHECK(back.standout[4] == 0.25F);
    // Every code that can be written reads back to the same code.
    for (int code = 0; code < 256; ++code) {
        std::string bytes = encode(kept);
        bytes.back() = static_cast<char>(code);
        CHECK(encode(decode_kept_spectrum(bytes)) == bytes);
    }
}

TEST_CASE("bytes of another form are refused") {
    CHECK_THROWS_AS(decode_kept_spectrum(""), MachineError);
    CHECK_THROWS_AS(decode_kept_spectrum(std::string(5, '\1')), MachineError);
    CHECK_THROWS_AS(decode_kept_spectrum(std::string(4, '\2')), MachineError);
}

#include "aggregate/band_hours.h"

#include <catch2/catch.hpp>

#include "base/missing.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

TEST_CASE("bands are 250 Hz wide up to 2 kHz and 500 Hz above, and end below half the rate") {
    const std::vector<PitchBand> bands = pitch_bands(24000);
    REQUIRE(bands.size() == 8 + 20);
    CHECK(bands[7].low_hz == 1750);
    CHECK(bands[7].high_hz == 2000);
    CHECK(bands[8].high_hz == 2500);
    CHECK(bands.back().high_hz == 12000);
    CHECK(pitch_bands(16000).back().high_hz == 8000);
    CHECK(pitch_bands(5100).back().high_hz == 2500);
}

TEST_CASE("shares are averaged over segments, then dates, hour by hour") {
    const Survey survey = four_sites();
    const TemporaryFolder folder;
    Filler filler(survey, folder.path() / "survey.db");
    // Hour 6 of two dates: means 0.25 and 0.81; three minutes against one must not count more.
    filler.add("DK1", "a.wav", "2031-05-01 06:00:00",
               {{{"_share", 0.25}}, {{"_share", 0.25}}, {{"_share", 0.25}}});
    filler.add("DK1", "b.wav", "2031-05-02 06:00:00", {{{"_share", 0.81}}});
    filler.add("DH1", "c.wav", "2031-05-01 23:00:00", {{{"_share", 0.04}}, {{"leq_dbfs", -40}}});
    const BandHours hours =
        band_hours(survey, filler.store(), JudgedSegments(survey, filler.store()), 24000);
    REQUIRE(hours.bands.size() == 28);
    for (std::size_t b = 0; b < hours.bands.size(); ++b) {
        // The share is kept to 1 / 254 of its root.
        CHECK(hours.values[0][6][b] == Approx(0.53).margin(0.005));
        CHECK(hours.values[2][23][b] == Approx(0.04).margin(0.002));
        CHECK(is_missing(hours.values[0][7][b]));
        CHECK(is_missing(hours.values[1][6][b]));
    }
}

TEST_CASE("a site that lacks a date is compared as if it had it") {
    const Survey survey = four_sites();
    const TemporaryFolder folder;
    Filler filler(survey, folder.path() / "survey.db");
    // The second date is louder by 0.4; H1 lacks it.
    filler.add("DK1", "a.wav", "2031-05-01 06:00:00", {{{"_share", 0.2}}});
    filler.add("DK1", "b.wav", "2031-05-02 06:00:00", {{{"_share", 0.6}}});
    filler.add("DH1", "c.wav", "2031-05-01 06:00:00", {{{"_share", 0.1}}});
    // K2 shares no date with the others.
    filler.add("DK2", "d.wav", "2031-05-09 06:00:00", {{{"_share", 0.1}}});
    const BandHours hours =
        band_hours(survey, filler.store(), JudgedSegments(survey, filler.store()), 24000);
    CHECK(hours.values[0][6][3] == Approx(0.4).margin(0.005));
    CHECK(hours.values[2][6][3] == Approx(0.3).margin(0.005));
    CHECK(is_missing(hours.values[1][6][3]));
}

TEST_CASE("a deployment that is measured at a decided rate stands in its own pitch") {
    Survey survey = four_sites();
    const TemporaryFolder folder;
    Filler filler(survey, folder.path() / "survey.db");
    Decision lower;
    lower.kind = Decision::Kind::sample_rate;
    lower.subject = "DK1";
    lower.deployment = 0;
    lower.sample_rate = 24000;
    survey.decisions.push_back(lower);
    RecordingRow row = filler.row("DK1", "a.wav", "2031-05-01 06:00:00", 1);
    row.sample_rate = 48000;  // the file's; its spectrum ends at 12 kHz all the same
    filler.add(row, {{{{"_share", 0.25}, {"_upper_share", 0.81}}}});
    const BandHours hours =
        band_hours(survey, filler.store(), JudgedSegments(survey, filler.store()), 24000);
    REQUIRE(hours.bands.back().high_hz == 12000);
    CHECK(hours.values[0][6][0] == Approx(0.25).margin(0.005));
    CHECK(hours.values[0][6].back() == Approx(0.81).margin(0.005));
}

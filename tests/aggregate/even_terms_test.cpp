// Choirs, and what has to be added to each site for all to be heard through the same noise, by
// hand.
#include "aggregate/even_terms.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <vector>

#include "aggregate/derived_values.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

namespace {

constexpr double kNone = -std::numeric_limits<double>::infinity();
const EventGrid kGrid(24000);

const Store& nothing() {
    static const Store store = Store::empty();
    return store;
}

/// Events of one band of 93.75 Hz at 3 kHz, `length` seconds from each whole second in [0,
/// seconds).
SegmentSounds chirps(int seconds, double length, int low = 64) {
    SegmentSounds sounds;
    sounds.listened = true;
    for (int s = 0; s < seconds; ++s)
        sounds.events.push_back({static_cast<std::int32_t>(std::ceil(s / kGrid.frame_s())),
                                 static_cast<std::int32_t>(length / kGrid.frame_s()),
                                 static_cast<std::int16_t>(low), static_cast<std::int16_t>(low + 1),
                                 -40});
    return sounds;
}

/// A comparison in one window from a background level a site and band.
EvenTerms terms_of(const Survey& survey, const std::vector<std::vector<float>>& levels) {
    SiteSounds sounds(nothing());
    for (std::size_t site = 0; site < levels.size(); ++site) {
        sounds.backgrounds[{site, 0}][site].add(levels[site]);
        sounds.rates[site] = {24000};
    }
    return even_terms(survey, sounds, "settings");
}

}  // namespace

TEST_CASE("a band filled in more than a quarter of the seconds is a choir's") {
    ChoirSeconds seconds;
    seconds.add(chirps(15, 0.3), kGrid, 60);  // 15 of 60: a quarter, not more
    CHECK(seconds.choirs(0.25).none());
    seconds.add(chirps(16, 0.3), kGrid, 60);
    // Bins 64 and 65 at 46.875 Hz reach from 2977 to 3070 Hz: into [2750, 3000) and [3000, 3250).
    const EventBands choirs = seconds.choirs(0.25);
    CHECK(choirs.count() == 2);
    CHECK(choirs[8]);
    CHECK(choirs[9]);
    CHECK(width_khz(choirs) == Approx(0.5));
    // An event counts in every second that it lasts.
    ChoirSeconds lasting;
    SegmentSounds one = chirps(1, 16.5);
    lasting.add(one, kGrid, 60);
    CHECK(lasting.choirs(0.25).count() == 2);
}

TEST_CASE("solo events are those whose middle lies outside the choirs") {
    EventBands choirs;
    choirs[9] = true;                                // 3000 to 3250 Hz
    SegmentSounds sounds = chirps(4, 0.3);           // middle 3023 Hz
    const SegmentSounds lower = chirps(3, 0.3, 62);  // 2930 Hz
    sounds.events.insert(sounds.events.end(), lower.events.begin(), lower.events.end());
    CHECK(events_outside({}, sounds, kGrid, 30) == Approx(14));
    CHECK(events_outside(choirs, sounds, kGrid, 30) == Approx(6));
    sounds.listened = false;
    CHECK(std::isnan(events_outside(choirs, sounds, kGrid, 30)));
}

TEST_CASE("the floor is the loudest site's, and each gets what it lacks") {
    const Survey survey = four_sites();
    const EvenTerms terms = terms_of(
        survey, {{-100, -100}, {-90, -100}, {-96.5F, -99}, {-100, static_cast<float>(kNone)}});
    CHECK(terms.levels == EvenTerms::Levels::as_recorded);
    REQUIRE(terms.windows.size() == 1);
    const EvenWindow& window = terms.windows.front();
    CHECK(window.floor_db == std::vector<double>{-90, -99});
    CHECK(window.loudest == std::vector<std::size_t>{1, 2});
    // By hand: 10^-9 - 10^-10 = 9e-10.
    CHECK(window.find(0)->noise_db[0] == Approx(10 * std::log10(9e-10)));
    CHECK(window.find(1)->noise_db[0] == kNone);
    CHECK(window.find(3)->noise_db[1] == Approx(-99));
    CHECK(window.find(2)->noise_db[1] == kNone);
}

TEST_CASE("a raised floor lies above the loudest site, which gets noise too") {
    const Survey survey = four_sites();
    SiteSounds sounds(nothing());
    const std::vector<float> levels[] = {{-60}, {-50}, {-55}, {-55}};
    for (std::size_t site = 0; site < 4; ++site) {
        sounds.backgrounds[{site, 0}][site].add(levels[site]);
        sounds.rates[site] = {24000};
    }
    const EvenTerms terms = varied_terms(survey, sounds, "settings", {}, {3, 0.25});
    REQUIRE(terms.windows.size() == 1);
    CHECK(terms.windows[0].floor_db[0] == Approx(-47));
    // 10 log10(10^-4.7 - 10^-5) and 10 log10(10^-4.7 - 10^-6)
    CHECK(terms.windows[0].find(1)->noise_db[0] == Approx(-50.0206).margin(1e-3));
    CHECK(terms.windows[0].find(0)->noise_db[0] == Approx(-47.2233).margin(1e-3));
}

TEST_CASE("the median over segments is that of half decibels, with each deployment's own offset") {
    BackgroundLevels a, b;
    for (const float db : {-100.0F, -101.0F, -99.5F}) a.add({db});
    for (const float db : {-80.0F, -90.0F, -85.0F}) b.add({db});
    CHECK(BackgroundLevels::medians({{&a, 0.0}}) == std::vector<double>{-100});
    // -101, -100, -99.5 with -110.25, -105.25, -100.25: the middle two are -100.25 and -101.
    CHECK(BackgroundLevels::medians({{&a, 0.0}, {&b, -20.25}})[0] == Approx(-100.625));
}

TEST_CASE("levels are sound pressure, less the gain, or as recorded") {
    Survey survey = four_sites();
    for (Deployment& d : survey.deployments) d.gain_db = 10;
    survey.deployments[1].gain_db = 30;
    const std::vector<std::vector<float>> levels{{-100}, {-80}, {-100}, {-100}};
    EvenTerms terms = terms_of(survey, levels);
    CHECK(terms.levels == EvenTerms::Levels::less_gain);
    // 20 dB more gain, 20 dB more level: nothing is lacking anywhere.
    for (std::size_t site = 0; site < 4; ++site)
        CHECK(terms.windows.front().find(site)->noise_db[0] == kNone);
    survey.deployments[2].gain_db.reset();
    CHECK(terms_of(survey, levels).levels == EvenTerms::Levels::as_recorded);
    for (Deployment& d : survey.deployments) d.full_scale_db_spl = 100;
    CHECK(terms_of(survey, levels).levels == EvenTerms::Levels::sound_pressure);
}

TEST_CASE("a site far above the others in over a third of the bands is too loud to compare") {
    const Survey survey = four_sites();
    // 13 dB above the median in one of three bands is no more than a third; in two it is.
    const EvenTerms one = terms_of(
        survey, {{-100, -100, -100}, {-87, -100, -100}, {-100, -100, -100}, {-100, -100, -100}});
    CHECK(!one.windows.front().find(1)->too_loud);
    const EvenTerms two = terms_of(
        survey, {{-100, -100, -100}, {-87, -87, -100}, {-100, -100, -100}, {-100, -100, -100}});
    CHECK(two.windows.front().find(1)->too_loud);
    CHECK(two.windows.front().find(1)->noise_db.empty());
    CHECK(two.windows.front().floor_db == std::vector<double>{-100, -100, -100});
}

TEST_CASE("with trials at all sites compared the open ones are weakened to the densest") {
    const Survey survey = four_sites();
    SiteSounds sounds(nothing());
    for (std::size_t site = 0; site < 4; ++site) {
        // Bands of 250 Hz: the middle of the fifth is 1125 Hz.
        sounds.backgrounds[{site, 0}][site].add(std::vector<float>(5, site == 0 ? -90 : -100));
        sounds.rates[site] = {24000};
    }
    KeptTrials trials;
    trials.state = KeptTrials::State::current;
    for (std::size_t site = 0; site < 4; ++site)
        for (const double band : {1000.0, 2000.0, 4000.0, 8000.0}) {
            PathLoss loss;
            loss.site = survey.sites[site].name;
            loss.distance_m = 30;
            loss.band_hz = band;
            loss.loss_db = site == 0 ? 2 : site == 1 ? band / 1000 + 5 : 3;
            trials.losses.push_back(loss);
        }
    const EvenTerms terms = even_terms(survey, sounds, "settings", trials);
    const EvenWindow& window = terms.windows.front();
    CHECK(terms.path == "path measured: sound is heard through the densest stand");
    // By hand: site 1 is the densest everywhere, 6 dB at 1 kHz and 7 at 2; halfway between in
    // log frequency, at 1414 Hz, 6.5.
    CHECK(window.weakening_db(*window.find(0), 500) == Approx(4));
    CHECK(window.weakening_db(*window.find(0), 1000 * std::sqrt(2.0)) == Approx(4.5));
    CHECK(window.weakening_db(*window.find(1), 3000) == Approx(0).margin(1e-12));
    CHECK(window.weakening_db(*window.find(2), 20000) == Approx(10));
    // Below 1 kHz: site 0 is heard at -94, site 1 at -100, the others at -103.
    CHECK(window.floor_db[0] == Approx(-94));
    CHECK(window.find(0)->noise_db[0] == kNone);
    CHECK(window.find(2)->noise_db[0] ==
          Approx(10 * std::log10(std::pow(10, -9.4) - std::pow(10, -10.3))));

    // One site without one band: no path for anybody.
    std::erase_if(trials.losses, [&](const PathLoss& loss) {
        return loss.site == survey.sites[3].name && loss.band_hz == 4000;
    });
    const EvenTerms lacking = even_terms(survey, sounds, "settings", trials);
    CHECK(lacking.path.starts_with("not separable from how far sound carries: see trial"));
    CHECK(lacking.windows.front().weakening_db(*lacking.windows.front().find(0), 500) == 0);
    CHECK(even_terms(survey, sounds, "settings").path ==
          "not separable from how far sound carries: see trial");
}

TEST_CASE("two sample rates cannot be compared; neither can one site") {
    const Survey survey = four_sites();
    SiteSounds sounds(nothing());
    for (std::size_t site = 0; site < 2; ++site) {
        sounds.backgrounds[{site, 0}][site].add({-100});
        sounds.rates[site] = {site == 0 ? 24000 : 48000};
    }
    CHECK(!even_terms(survey, sounds, "settings").impossible.empty());
    CHECK(!terms_of(survey, {{-100}}).impossible.empty());
}

TEST_CASE("a fingerprint changes with whatever the values depend on, and with nothing else") {
    Survey survey = four_sites();
    const auto print = [&](const std::vector<std::vector<float>>& levels, std::size_t site) {
        const EvenTerms terms = terms_of(survey, levels);
        const EvenWindow& window = terms.windows.front();
        return terms.fingerprint({&window, window.find(site)}, site);
    };
    const std::vector<std::vector<float>> levels{{-100}, {-90}, {-95}, {-100}};
    auto softer = levels;
    softer[2][0] = -96;
    CHECK(print(levels, 0) == print(softer, 0));
    CHECK(print(levels, 2) != print(softer, 2));
    const auto before = print(levels, 0);
    survey.contrast.seed = 7;
    CHECK(print(levels, 0) != before);
}

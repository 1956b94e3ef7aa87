#include "demo/demo.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <set>

#include "demo/calls.h"
#include "demo/demo_sheets.h"
#include "demo/noise.h"
#include "demo/random.h"
#include "demo/scenario.h"
#include "demo/synthesis.h"

using namespace hearwood;

namespace {

double level_dbfs(const std::vector<float>& samples) {
    double sum = 0;
    for (const float x : samples) sum += static_cast<double>(x) * x;
    return 10 * std::log10(2 * sum / static_cast<double>(samples.size()));
}

/// Mean over the seeds of a number of a scenario.
template <class Number>
double over_seeds(Number number) {
    double sum = 0;
    const int seeds = 5;
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) sum += number(make_scenario(seed));
    return sum / seeds;
}

}  // namespace

TEST_CASE("the demo's generator gives SplitMix64's published first values") {
    // Seed 1234567: reference output quoted beside the public-domain code, written down from
    // memory.
    DemoRandom random(1234567);
    CHECK(random.bits() == 6457827717110365317u);
    CHECK(random.bits() == 3203168211198807973u);
}

TEST_CASE("gaussian draws have mean 0 and variance 1") {
    DemoRandom random(5);
    double sum = 0, squares = 0;
    const int n = 200000;
    for (int i = 0; i < n; ++i) {
        const double x = random.gaussian();
        sum += x;
        squares += x * x;
    }
    CHECK(std::abs(sum / n) < 4 / std::sqrt(n));                // four standard errors
    CHECK(std::abs(squares / n - 1) < 4 * std::sqrt(2.0 / n));  // at most: the tails are short
}

TEST_CASE("twelve sites, two of each class along each of three rivers") {
    const DemoScenario scenario = make_scenario(1);
    std::map<std::string, int> cells;
    for (const DemoSite& site : scenario.sites) ++cells[site.river + "/" + site.stand];
    CHECK(cells.size() == 6);
    for (const auto& [cell, count] : cells) CHECK(count == 2);
}

TEST_CASE(
    "eight dates: every five minutes around dawn, every thirty by day and night; names are "
    "unique") {
    const DemoScenario scenario = make_scenario(1);
    std::map<std::size_t, std::set<std::string>> names;
    int truncated = 0, dead = 0, showers = 0, boats = 0, gusts = 0;
    for (const DemoFile& file : scenario.files) {
        CHECK(names[file.site].insert(file.name).second);
        truncated += file.truncated;
        dead += file.dead;
        showers += file.shower;
        boats += file.boat;
        gusts += file.gusts;
    }
    // 00:00 to 03:00 every 30 min, to 05:00 every 20, to 07:30 every 5, to 09:00 every 20, then
    // from 09:10 every 30.
    const std::size_t day = 6 + 6 + 30 + 5 + 30;
    for (const auto& [site, set] : names) {
        const DemoSite& of = scenario.sites[site];
        // Both plays of the trial besides.
        if (!of.misses_dawns) CHECK(set.size() == 8 * day + 2);
        // Without 04:00 to 08:30 on four of the eight dates.
        if (of.misses_dawns) CHECK(set.size() == 8 * day + 2 - 4 * (3 + 30 + 3));
    }
    CHECK(truncated == 1);
    CHECK(dead == 2 * static_cast<int>(day));
    CHECK(showers == 4 * 2 * 4);
    CHECK(boats == 4 * 2);
    CHECK(gusts == 4 * 6);
}

TEST_CASE("more calls at the rich sites, a denser stand, and sites that scatter within a class") {
    std::map<std::string, std::vector<double>> liveliness;
    for (std::uint64_t seed = 1; seed <= 5; ++seed)
        for (const DemoSite& site : make_scenario(seed).sites) {
            liveliness[site.stand].push_back(std::log(site.liveliness));
            CHECK(site.loss_db_per_100m > (site.stand == "rich" ? 7.4 : 4.9));
        }
    const auto mean = [](const std::vector<double>& values) {
        double sum = 0;
        for (const double x : values) sum += x;
        return sum / static_cast<double>(values.size());
    };
    // Twice as many: the rivers are the same for both, the scores sum to 0.
    CHECK(std::exp(mean(liveliness["rich"]) - mean(liveliness["poor"])) == Approx(2.0));
    for (const auto& [stand, values] : liveliness) {
        const auto [low, high] = std::minmax_element(values.begin(), values.end());
        CHECK(*high - *low > std::log(2.0));  // the classes overlap
    }
    const DemoScenario scenario = make_scenario(1);
    CHECK(std::count_if(scenario.sites.begin(), scenario.sites.end(), [](const DemoSite& site) {
              return site.stream_dbfs > -100 && site.stand == "rich";
          }) == 1);
}

TEST_CASE("one recorder's file names are seven minutes early") {
    const DemoScenario scenario = make_scenario(1);
    const auto file = std::find_if(scenario.files.begin(), scenario.files.end(),
                                   [](const DemoFile& f) { return f.site == 1; });
    REQUIRE(file != scenario.files.end());
    CHECK(file->name.find("_000000.") != std::string::npos);
    CHECK(file->true_start == LocalTime(std::chrono::local_days(std::chrono::year{2026} / 4 / 18)) +
                                  std::chrono::minutes(7));
    CHECK(demo_deployments_csv(scenario).find(",-420,-420,") != std::string::npos);
}

TEST_CASE(
    "the trial is played at true times, from 2 m and from 30 m, weaker by the stand and by "
    "distance") {
    const DemoScenario scenario = make_scenario(1);
    const std::string sheet = demo_trials_csv(scenario);
    CHECK(std::count(sheet.begin(), sheet.end(), '\n') == 1 + 2 * 12);
    // The late clock's own file name lags behind what the notebook says.
    CHECK(sheet.find("amerak-heath-2,2026-04-17,14:40,2,") != std::string::npos);
    std::vector<double> levels;
    for (const DemoFile& file : scenario.files)
        if (file.site == 1 && file.trial_m > 0) {
            CHECK(file.name.find(file.trial_m == 2 ? "_20260417_143300." : "_20260417_143500.") !=
                  std::string::npos);
            const std::vector<float> samples = synthesise(scenario.sites[1], file);
            CHECK(samples.size() == 24000 * 34);
            levels.push_back(level_dbfs(samples));
        }
    REQUIRE(levels.size() == 2);
    // 20 log10(30 / 2) = 23.5 dB of spreading, and 28 m of a stand that takes 5 to 7 dB per 100 m
    // at 4 kHz: half of that at 1 kHz, 1.4 times at 8 kHz.
    CHECK(levels[0] - levels[1] > 23.5 + 28 * 0.05 * 0.5);
    CHECK(levels[0] - levels[1] < 23.5 + 28 * 0.07 * 1.5);
}

TEST_CASE("a file's samples depend on its seed alone") {
    const DemoScenario scenario = make_scenario(3);
    const DemoFile& file = scenario.files[20];
    CHECK(synthesise(scenario.sites[file.site], file) ==
          synthesise(scenario.sites[file.site], file));
    DemoFile other = file;
    other.seed += 1;
    CHECK(synthesise(scenario.sites[file.site], other) !=
          synthesise(scenario.sites[file.site], file));
}

TEST_CASE("calls come as often as planned, and lie within their file") {
    // 500 phrases are planned, so that two standard errors of their number are 9 in 100.
    const DemoScenario scenario = make_scenario(1);
    DemoFile file = scenario.files[0];
    file.bird_phrases_per_minute = 0;
    file.frog_calls_per_minute = 20;
    int frogs = 0;
    for (int i = 0; i < 250; ++i) {
        ++file.seed;
        for (const DemoCall& call : calls_of(scenario.sites[0], file)) {
            ++frogs;
            CHECK(call.at_s >= 0);
            CHECK(call.at_s + call.length_s <= kDemoFileSeconds);
        }
    }
    const double planned = 250 * 20 * kDemoFileSeconds / 60.0;
    CHECK(std::abs(frogs - planned) < 4 * std::sqrt(planned));
}

TEST_CASE("truth counts the calls that are synthesised, and which of them can be heard anywhere") {
    const DemoScenario scenario = make_scenario(1);
    int all = 0, audible = 0, everywhere = 0;
    for (const DemoFile& file : scenario.files) {
        const DemoCalls counts = count_calls(scenario, file);
        CHECK(static_cast<std::size_t>(counts.birds + counts.frogs) ==
              calls_of(scenario.sites[file.site], file).size());
        all += counts.birds + counts.frogs;
        audible += counts.audible;
        everywhere += counts.audible_everywhere;
        CHECK(counts.audible_everywhere <= counts.audible);
    }
    CHECK(everywhere > audible / 2);
    CHECK(everywhere < audible);
    CHECK(audible > all / 2);
    CHECK(audible < all);
    CHECK(over_seeds([](const DemoScenario& of) { return static_cast<double>(of.files.size()); }) ==
          12 * (8 * 77 + 2) - 4 * 36);
}

TEST_CASE("a noise's density is that of what is synthesised") {
    // By Parseval the mean of the density over all frequencies is the variance of the samples.
    const DemoNoise noise{0.01, 0.5};
    double mean = 0;
    const int steps = 2000;
    for (int i = 0; i < steps; ++i)
        mean += noise.density(kDemoSampleRate / 2.0 * (i + 0.5) / steps) / steps;
    // A low pass of one pole leaves pole / (2 - pole) of a white variance.
    CHECK(mean == Approx(0.01 * 0.01 * 0.5 / 1.5).epsilon(1e-3));
}

TEST_CASE("levels are those of quiet nature, a loud shower, and a dead microphone") {
    const DemoScenario scenario = make_scenario(1);
    DemoFile file = scenario.files[0];
    const DemoSite& site = scenario.sites[0];
    file.choirs.clear();
    file.frog_calls_per_minute = file.bird_phrases_per_minute = 0;
    const double quiet = level_dbfs(synthesise(site, file));
    CHECK(quiet > -84);
    CHECK(quiet < -80);
    file.shower = true;
    CHECK(level_dbfs(synthesise(site, file)) > quiet + 10);
    file.dead = true;
    CHECK(level_dbfs(synthesise(site, file)) < -95);
}

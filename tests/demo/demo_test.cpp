#include "demo/demo.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <set>

#include "demo/demo_sheets.h"
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

TEST_CASE("every hour of both dates is there, denser around dawn, names are unique") {
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
    for (const auto& [site, set] : names) CHECK(set.size() == 2 * (24 + 4 * 2 + 2 * 3));
    CHECK(truncated == 1);
    CHECK(dead == 38);
    CHECK(showers == 8);
    CHECK(boats == 4);
    CHECK(gusts == 12);
}

TEST_CASE("the truth is richer at the rich sites of every river, at dawn above all") {
    const DemoScenario scenario = make_scenario(1);
    std::map<std::string, double> dawn;
    for (const DemoFile& file : scenario.files) {
        const DemoSite& site = scenario.sites[file.site];
        if (file.name.find("_06") != std::string::npos)
            dawn[site.river + site.stand] += file.bird_phrases_per_minute;
    }
    for (const char* river : {"Amerak", "Belindu", "Cerawai"})
        CHECK(dawn[std::string(river) + "rich"] > 1.5 * dawn[std::string(river) + "poor"]);
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

TEST_CASE("levels are those of quiet nature, a loud shower, and a dead microphone") {
    const DemoScenario scenario = make_scenario(1);
    DemoFile file = scenario.files[0];
    const DemoSite& site = scenario.sites[0];
    file.insect_kinds = 0;
    file.frog_calls_per_minute = file.bird_phrases_per_minute = 0;
    const double quiet = level_dbfs(synthesise(site, file));
    CHECK(quiet > -70);
    CHECK(quiet < -55);
    file.shower = true;
    CHECK(level_dbfs(synthesise(site, file)) > quiet + 10);
    file.dead = true;
    CHECK(level_dbfs(synthesise(site, file)) < -95);
}

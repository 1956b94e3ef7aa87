#include "survey/new_survey.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <sstream>

#include "support.h"
#include "survey/windows.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

std::string text_of(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

/// The settings with every '#key = ...' line switched on; prose has a space after its '#'.
std::string switched_on(const std::string& text) {
    std::istringstream in(text);
    std::string out;
    for (std::string line; std::getline(in, line);)
        out += (line.size() > 1 && line[0] == '#' && line[1] != ' ' ? line.substr(1) : line) + "\n";
    return out;
}

}  // namespace

TEST_CASE("a new survey loads, and says only what is true of its example rows") {
    const TemporaryFolder folder;
    write_new_survey(folder.path() / "new");
    const Survey survey = load_survey(folder.path() / "new");
    CHECK(survey.sites.size() == 2);
    CHECK(survey.deployments.size() == 2);
    REQUIRE(survey.warnings.size() == 2);
    for (const Problem& warning : survey.warnings)
        CHECK(warning.what ==
              "only one site has this nutrient_status: the contrast cannot be tested");
    CHECK(std::filesystem::is_directory(folder.path() / "new" / "recordings"));
}

TEST_CASE("every commented key of a new survey.toml is a key, at its default") {
    const TemporaryFolder folder;
    write_new_survey(folder.path());
    const Survey plain = load_survey(folder.path());
    folder.file("survey.toml", switched_on(new_survey_sheets()[0].text));
    const Survey full = load_survey(folder.path());
    MeasureSettings measure = full.measure;
    CHECK(measure.bands.size() == 2);
    measure.bands.clear();
    CHECK(measure.range_high_hz == 24000);  // shown, although the default follows the sample rate
    measure.range_high_hz.reset();
    CHECK(measure == plain.measure);
    CHECK(full.screen == plain.screen);
    CHECK(full.contrast.seed == plain.contrast.seed);
    CHECK(full.contrast.level == plain.contrast.level);
    CHECK(full.stands.listening_distance_m == plain.stands.listening_distance_m);
    CHECK(full.windows.size() == 5);
    CHECK(std::vector<Window>(full.windows.begin() + 1, full.windows.end()) == built_in_windows());
}

TEST_CASE("a sheet that is there is never overwritten, and nothing else is written then") {
    const TemporaryFolder folder;
    folder.file("sites.csv", "mine");
    try {
        write_new_survey(folder.path());
        FAIL("it was overwritten");
    } catch (const InputError& error) {
        REQUIRE(error.problems().size() == 1);
        CHECK(error.problems()[0].what == "this is there already and is never overwritten");
    }
    CHECK(text_of(folder.path() / "sites.csv") == "mine");
    CHECK_FALSE(std::filesystem::exists(folder.path() / "survey.toml"));
    CHECK_FALSE(std::filesystem::exists(folder.path() / "recordings"));
}

TEST_CASE("a dangling link in the place of a sheet is not written through") {
    const TemporaryFolder folder;
    std::filesystem::create_symlink(folder.path() / "elsewhere.csv", folder.path() / "sites.csv");
    CHECK_THROWS_AS(write_new_survey(folder.path()), InputError);
    CHECK_FALSE(std::filesystem::exists(folder.path() / "elsewhere.csv"));
}

// Results that survey.db keeps: they come back as they went in, and are old as soon as anything
// that they hang on is another.
#include "contrast/kept_results.h"

#include <catch2/catch.hpp>
#include <functional>
#include <limits>

#include "temporary_folder.h"

using namespace hearwood;

namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();

Survey small_survey() {
    Survey survey;
    survey.time_zone = "Asia/Kuching";
    survey.stands.class_a = "rich";
    survey.stands.class_b = "poor";
    survey.windows = {{"dawn", {}, {}}};
    survey.contrast.primary_index = "aci";
    survey.contrast.primary_window = "dawn";
    for (const char* name : {"L1", "L2"}) {
        Site site;
        site.name = name;
        site.stand = name[1] == '1' ? "rich" : "poor";
        survey.sites.push_back(site);
        Deployment deployment;
        deployment.name = name;
        deployment.site = survey.deployments.size();
        survey.deployments.push_back(deployment);
    }
    return survey;
}

SiteValues values_of(double value) {
    SiteValues values;
    values.windows = {"dawn"};
    Column column;
    column.name = "aci";
    values.columns = {column};
    DateMean mean;
    mean.kept = mean.possible = 3;
    mean.values = {value};
    values.site_hours = values.site_windows = {mean};
    return values;
}

Robustness small_robustness() {
    ContrastRow row;
    row.index = "aci";
    row.window = "dawn";
    row.class_a = "rich";
    row.class_b = "poor";
    row.n_a = row.n_b = 2;
    row.difference = 0.1;
    row.ci_low = -kInfinite;
    row.ci_high = kInfinite;
    row.p = row.p_adjusted = 1.0 / 3;
    row.p_min = row.p;
    row.permutations = 6;
    row.role = Role::primary;
    row.exact = false;
    row.has_blocks = true;
    row.dropped_blocks = {"upper \"arm\""};
    row.level = 0.9;
    Robustness robustness{"aci", "dawn", {{"frame", {"512 samples", "256 samples"}}}, {}, {}};
    robustness.grid = {{{0}, row, true, true}, {{1}, row, true, false}};
    robustness.without = {{"L1", {{0}, row, false, true}}};
    return robustness;
}

ListeningScore small_score() {
    ListeningScore score;
    score.clips = 40;
    score.sites = 2;
    score.listeners = 1;
    score.agreement = {{"AB within", "fullness", "weighted kappa", 6, 0.5, kMissing}};
    score.follows = {{"aci", "fullness", 0.6, kMissing, 0.8, 40, 2, 1, "unclear"}};
    score.screens = {{"rain", 1, 2, 3, 0.1, 0.2, 0.3, kMissing, 0.5, 0.6, 40}};
    score.contrasts = {small_robustness().grid[0].result};
    score.lost = {"c01"};
    return score;
}

/// A store that keeps both results as made under this survey from these values.
Store kept_in(const std::filesystem::path& folder, const Survey& survey, const SiteValues& values) {
    Store store = Store::open(folder);
    store.begin();
    store.keep_result({kRobustness, fingerprint_of(kRobustness, survey, values),
                       robustness_json(small_robustness())});
    store.keep_result(
        {kListening, fingerprint_of(kListening, survey, values), listening_json(small_score())});
    store.commit();
    return store;
}

}  // namespace

TEST_CASE("kept results come back as they went in, infinite ends and missing numbers too") {
    const testing::TemporaryFolder folder;
    const Survey survey = small_survey();
    const SiteValues values = values_of(20);
    const Store store = kept_in(folder.path(), survey, values);
    const KeptResults kept = read_kept_results(survey, &values, store);
    CHECK(kept.old.empty());
    REQUIRE(kept.robustness);
    CHECK(robustness_csv(*kept.robustness) == robustness_csv(small_robustness()));
    CHECK(robustness_grid_csv(*kept.robustness) == robustness_grid_csv(small_robustness()));
    CHECK(robustness_json(*kept.robustness) == robustness_json(small_robustness()));
    const ContrastRow& row = kept.robustness->grid[0].result;
    CHECK(row.ci_low == -kInfinite);
    CHECK(row.dropped_blocks == std::vector<std::string>{"upper \"arm\""});
    CHECK(row.level == 0.9);
    REQUIRE(kept.listening);
    CHECK(listening_json(*kept.listening) == listening_json(small_score()));
    CHECK(kept.heard().size() == 1);
}

TEST_CASE("a result is old as soon as its plan or its values are others, and none is not old") {
    const testing::TemporaryFolder folder;
    const Survey survey = small_survey();
    const SiteValues values = values_of(20);
    const Store store = kept_in(folder.path(), survey, values);
    const auto old = [&](const std::function<void(Survey&)>& edit) {
        Survey edited = survey;
        edit(edited);
        return read_kept_results(edited, &values, store).old;
    };
    using Names = std::vector<std::string>;
    const Names both{kListening, kRobustness}, robustness{kRobustness};
    CHECK(old([](Survey&) {}).empty());
    CHECK(old([](Survey& s) { s.title = "Another"; }).empty());
    CHECK(old([](Survey& s) { s.contrast.level = 0.9; }) == both);
    CHECK(old([](Survey& s) { s.contrast.seed = 2; }) == both);
    CHECK(old([](Survey& s) { s.contrast.primary_index = "bi"; }) == robustness);
    CHECK(old([](Survey& s) { s.windows[0].to.minutes = 5; }) == robustness);
    CHECK(old([](Survey& s) { s.sites[1].block = "upper"; }) == both);
    CHECK(old([](Survey& s) { s.sites[1].stand = "rich"; }) == both);
    CHECK(old([](Survey& s) { s.screen.rain_score = 1; }) == both);
    CHECK(old([](Survey& s) { s.measure.frame = 1024; }) == both);
    CHECK(old([](Survey& s) { s.deployments[0].clock_error_start_s = 2; }) == both);
    CHECK(read_kept_results(survey, nullptr, store).old == both);
    const SiteValues others = values_of(20.5);
    CHECK(read_kept_results(survey, &others, store).old == both);
    CHECK_FALSE(read_kept_results(survey, &others, store).robustness);
    CHECK(told_as_old(read_kept_results(survey, &others, store)).size() == 2);
    CHECK(read_kept_results(survey, nullptr, Store::empty()).old.empty());
}

// The page's words, rules and data, without a browser.
#include "report/report.h"

#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/missing.h"
#include "base/parallel.h"
#include "contrast/profile.h"
#include "report/clips.h"
#include "report/page.h"
#include "report/page_data.h"
#include "report/page_html.h"
#include "report/page_words.h"
#include "report/result_table.h"
#include "temporary_folder.h"

using namespace hearwood;

namespace {

Survey survey_of(const std::vector<std::string>& names) {
    Survey survey;
    survey.title = "Test";
    survey.time_zone = "Asia/Kuching";
    survey.stands.class_a = "rich";
    survey.stands.class_b = "poor";
    for (std::size_t i = 0; i < names.size(); ++i) {
        Site site;
        site.name = names[i];
        site.stand = i % 2 == 0 ? "rich" : "poor";
        survey.sites.push_back(site);
    }
    return survey;
}

ContrastRow row_of(double p, double p_min = 0.01) {
    ContrastRow row;
    row.index = "aci";
    row.window = "dawn";
    row.class_a = "rich";
    row.class_b = "poor";
    row.n_a = row.n_b = 6;
    row.mean_a = 20;
    row.mean_b = 10;
    row.difference = 10;
    row.ci_low = 4.1;
    row.ci_high = 18.6;
    row.p = row.p_adjusted = p;
    row.p_min = p_min;
    row.role = Role::primary;
    return row;
}

Page page_of(const Survey& survey, std::vector<ContrastRow> rows) {
    Page page(survey);
    page.values.segments = 100;
    page.values.sample_rates.resize(survey.sites.size());
    page.values.deployments.resize(survey.deployments.size());
    page.index = "aci";
    page.window = "dawn";
    page.declared = true;
    page.contrasts = std::move(rows);
    return page;
}

bool holds(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

SegmentGatherer gathered_of(const std::vector<double>& values) {
    SegmentGatherer gathered(0);
    std::uint32_t segment = 0;
    for (const double value : values) {
        SegmentPlace place;
        place.window = 0;
        place.segment = segment++;
        place.kept = place.averaged = true;
        place.value = value;
        gathered.days[{0, Date{}}].push_back(place);
    }
    return gathered;
}

}  // namespace

TEST_CASE("the answer never says more than its row") {
    const Survey survey = survey_of({"L1", "L2"});
    CHECK(holds(
        answer_sentence(page_of(survey, {row_of(0.012)})),
        "is higher at rich than at poor sites, by 10.0 (95 % interval 4.10 to 18.6, p = 0.0120"));
    const std::string open = answer_sentence(page_of(survey, {row_of(0.3)}));
    CHECK(holds(open, "No difference between rich and poor stands is shown"));
    CHECK(holds(open, "remains possible"));
    const std::string small = answer_sentence(page_of(survey, {row_of(0.1, 0.1)}));
    CHECK(holds(small, "no result could reach p = 0.05"));
    ContrastRow empty = row_of(std::nan(""));
    empty.n_b = 1;
    CHECK(holds(answer_sentence(page_of(survey, {empty})),
                "There is no answer yet: 6 rich and 1 poor sites"));
    CHECK(holds(answer_sentence(page_of(survey, {})), "has not been worked out yet"));
    CHECK(holds(answer_sentence(page_of(survey_of({}), {})), "no sites yet"));
    ContrastRow lower = row_of(0.012);
    lower.difference = -10;
    CHECK(holds(answer_sentence(page_of(survey, {lower})), "is lower at rich than at poor"));
}

TEST_CASE("open ends of an interval are words") {
    ContrastRow row = row_of(0.1);
    row.ci_high = std::numeric_limits<double>::infinity();
    CHECK(interval_words(row) == "4.10 upwards");
    row.ci_low = -row.ci_high;
    CHECK(interval_words(row) == "unbounded");
}

TEST_CASE("the main doubt is the worst finding; old contrasts come before everything") {
    const Survey survey = survey_of({"L1", "L2"});
    Page page = page_of(survey, {row_of(0.012)});
    CHECK(holds(main_doubt(page), "No listening check was made"));
    Finding note, doubt;
    note.what = "A note.";
    doubt.severity = Severity::doubt;
    doubt.what = "Gains differ. It may explain a part.";
    page.findings = {doubt, note};
    CHECK(main_doubt(page) == "Gains differ. It may explain a part.");
    page.contrasts_stale = true;
    CHECK(holds(main_doubt(page), "older than what is measured now"));
}

TEST_CASE("an index that did not follow the ear is the main doubt, unless the design is worse") {
    const Survey survey = survey_of({"L1", "L2"});
    Page page = page_of(survey, {row_of(0.012)});
    page.heard = {{"aci", "fullness", 0.05, -0.2, 0.3, 40, 8, 2, "does not follow"}};
    Finding doubt;
    doubt.severity = Severity::doubt;
    doubt.what = "Gains differ.";
    page.findings = {doubt};
    CHECK(holds(main_doubt(page), "aci did not follow the ear here (rho 0.05, −0.20 to 0.30)"));
    page.heard[0].verdict = "opposite";
    CHECK(holds(main_doubt(page), "It fell where more animals were heard"));
    page.heard[0].verdict = "follows";
    CHECK(holds(main_doubt(page), "Gains differ."));
    page.heard[0].verdict = "does not follow";
    page.findings[0].severity = Severity::serious;
    CHECK(holds(main_doubt(page), "Gains differ."));
    page.findings.clear();
    page.heard[0].index = "bi";
    CHECK(holds(main_doubt(page), "No listening check was made"));
}

TEST_CASE("many findings of one code are folded behind their number, none is lost") {
    const Survey survey = survey_of({"L1", "L2"});
    Page page = page_of(survey, {row_of(0.012)});
    page.audited = true;
    for (int i = 0; i < 5; ++i) {
        Finding finding;
        finding.code = i == 2 ? FindingCode::gain : FindingCode::noise_floor;
        finding.what = "Finding " + std::to_string(i) + ".";
        page.findings.push_back(finding);
    }
    const std::string html = doubts_section(page);
    CHECK(holds(html, "<summary>3 more about the noise floor</summary>"));
    CHECK(html.find("Finding 0.") < html.find("<summary>3 more"));
    CHECK(html.find("Finding 1.") > html.find("<summary>3 more"));
    for (int i = 0; i < 5; ++i) CHECK(holds(html, "Finding " + std::to_string(i) + "."));
    page.findings.pop_back();
    CHECK_FALSE(holds(doubts_section(page), "more about the noise floor"));
}

TEST_CASE("contrasts that do not fit the values at hand are found out") {
    const Survey survey = survey_of({"L1", "L2", "L3", "L4"});
    SiteValues values;
    values.windows = {"dawn"};
    Column column;
    column.name = "aci";
    values.columns = {column};
    for (std::size_t i = 0; i < 4; ++i) {
        SiteMean mean;
        mean.site = i;
        mean.values = {i % 2 == 0 ? 20.0 : 10.0};
        values.window_means.push_back(mean);
    }
    ContrastRow row = row_of(0.1);
    row.n_a = row.n_b = 2;
    CHECK(agree({row}, survey, values));
    row.n_a = 1;  // a site has come since
    CHECK_FALSE(agree({row}, survey, values));
    row.n_a = 2;
    values.window_means[0].values = {20.5};
    CHECK_FALSE(agree({row}, survey, values));
    values.window_means[0].values = {std::nan("")};
    CHECK_FALSE(agree({row}, survey, values));
}

TEST_CASE("clips: lower median, highest, lowest, the earliest of equals, none twice") {
    const auto rules = [](const SegmentGatherer& gathered) {
        std::vector<std::pair<std::string, std::uint32_t>> result;
        for (const ChosenSegment& chosen : choose_segments(gathered, 1))
            result.emplace_back(word(chosen.rule), chosen.place->segment);
        return result;
    };
    using Rules = std::vector<std::pair<std::string, std::uint32_t>>;
    CHECK(rules(gathered_of({5, 1, 9, 3})) ==
          Rules{{"nearest the median", 3}, {"highest", 2}, {"lowest", 1}});
    CHECK(rules(gathered_of({7, 7, 7})) == Rules{{"nearest the median", 0}});
    CHECK(rules(gathered_of({2, 9, 9, 2, 4})) ==
          Rules{{"nearest the median", 4}, {"highest", 1}, {"lowest", 0}});
    CHECK(rules(gathered_of({std::nan(""), 4})) == Rules{{"nearest the median", 1}});
    SegmentGatherer excluded = gathered_of({1, 2});
    for (auto& place : excluded.days.begin()->second) place.averaged = false;
    CHECK(rules(excluded).empty());
}

TEST_CASE("names become parts of file names, no two the same") {
    const Survey survey = survey_of({"L 01", "l-01", "../../etc", "\U0001F438", "l-01--1"});
    std::vector<std::string> stems;
    for (std::size_t i = 0; i < survey.sites.size(); ++i) stems.push_back(file_stem(survey, i));
    CHECK(stems == std::vector<std::string>{"l-01--1", "l-01--2", "etc", "site", "l-01-1"});
}

TEST_CASE("tables are read back with their types, guards and infinite ends") {
    const testing::TemporaryFolder temporary;
    const std::filesystem::path& folder = temporary.path();
    write_whole_file(folder / "contrasts.csv",
                     "index,window,n_a,ci_low,ci_high,p,role,verdict\n"
                     "aci,dawn,6,-INF,12.5,,secondary,\"'=a, \"\"b\"\"\"\n");
    const auto table = read_result_table(folder, contrasts_table().description());
    REQUIRE(table);
    const auto& row = table->rows.at(0);
    CHECK(table->number(row, "n_a") == 6);
    CHECK(table->number(row, "ci_low") == -std::numeric_limits<double>::infinity());
    CHECK(table->number(row, "ci_high") == 12.5);
    CHECK(is_missing(table->number(row, "p")));
    CHECK(table->text(row, "verdict") == "=a, \"b\"");
    CHECK_FALSE(read_result_table(folder, profile_table().description()));
}

TEST_CASE("no text can end the script element that holds the data") {
    const Survey survey = survey_of({"</script><b>", "L2"});
    const std::string json = page_data_json(page_of(survey, {}));
    CHECK_FALSE(holds(json, "<"));
    CHECK(holds(json, "\\u003c/script>\\u003cb>"));
}

// RFC 4648, section 10: test vectors.
TEST_CASE("base64") {
    CHECK(base64("").empty());
    CHECK(base64("f") == "Zg==");
    CHECK(base64("foob") == "Zm9vYg==");
    CHECK(base64("foobar") == "Zm9vYmFy");
}

TEST_CASE("work is shared out once each, and an error reaches the caller") {
    // Catch2's assertions are for one thread: the workers only count.
    std::vector<std::atomic<int>> done(100);
    std::atomic<int> strangers{0};
    parallel_for(done.size(), 3, [&](std::size_t piece, std::size_t worker) {
        strangers += worker >= 3;
        ++done[piece];
    });
    CHECK(strangers == 0);
    for (const auto& count : done) CHECK(count == 1);
    CHECK_THROWS_AS(parallel_for(50, 3,
                                 [](std::size_t piece, std::size_t) {
                                     if (piece == 20) throw MachineError("disk full");
                                 }),
                    MachineError);
    parallel_for(0, 3, [&](std::size_t, std::size_t) { ++strangers; });
    CHECK(strangers == 0);
}

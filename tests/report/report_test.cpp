// The page's words, rules and data, without a browser.
#include "report/report.h"

#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "base/base64.h"
#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/missing.h"
#include "base/parallel.h"
#include "contrast/verdict.h"
#include "report/clips.h"
#include "report/page.h"
#include "report/page_data.h"
#include "report/page_html.h"
#include "report/page_words.h"
#include "report/summary.h"

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
    page.contrast.contrasts = std::move(rows);
    page.contrast.plan.primary_index = "aci";
    page.contrast.plan.primary_window = "dawn";
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

TEST_CASE("the answer is the verdict of the row") {
    const Survey survey = survey_of({"L1", "L2"});
    const ContrastRow clear = row_of(0.012);
    CHECK(answer_sentence(page_of(survey, {clear})) ==
          "Aci" + verdict(clear).substr(3) + " Compared: 6 rich and 6 poor sites.");
    ContrastRow empty = row_of(std::nan(""));
    empty.n_b = 1;
    CHECK(answer_sentence(page_of(survey, {empty})) == "Aci" + verdict(empty).substr(3));
    CHECK(holds(answer_sentence(page_of(survey, {})), "so there is no answer"));
    CHECK(holds(answer_sentence(page_of(survey_of({}), {})), "no sites yet"));
    ContrastRow dropped = row_of(0.012);
    dropped.dropped_blocks = {"upper"};
    dropped.missing_sites = {"L9"};
    CHECK(holds(answer_sentence(page_of(survey, {dropped})), "block upper dropped out"));
    CHECK(holds(answer_sentence(page_of(survey, {dropped})), "without L9, which has no value"));
    Page undeclared = page_of(survey, {clear});
    undeclared.declared = false;
    CHECK(holds(answer_sentence(undeclared), "Shown below is the aci in the dawn window"));
}

TEST_CASE("the plain words count pairs of sites, and go by what decides") {
    const Survey survey = survey_of({"R1", "P1", "R2", "P2", "R3"});
    Page page = page_of(survey, {row_of(0.012)});
    Column aci;
    aci.name = aci.title = "aci";
    aci.unit = "1";
    page.values.columns = {aci};
    page.values.windows = {"dawn"};
    // Rich 20, 30, 12 against poor 10, 15: five of six pairs are higher at rich.
    for (std::size_t i = 0; i < 5; ++i) {
        SiteMean mean;
        mean.site = i;
        mean.values = {std::vector{20.0, 10.0, 30.0, 15.0, 12.0}[i]};
        page.values.window_means.push_back(mean);
    }
    const auto words = [&] { return plain_answer(page); };
    CHECK(holds(words(), "of 6 pairs of a rich and a poor site, the rich one is higher in 5."));
    ContrastRow& row = page.contrast.contrasts[0];
    row.missing_sites = {"R3"};
    CHECK(page.left_out() == std::vector<std::pair<std::string, std::string>>{{"R3", "no value"}});
    CHECK(holds(words(), "each of the 2 rich sites lies above each of the 2 poor ones."));

    // With unequal numbers the larger p decides, whatever p alone says.
    row.unequal_counts = true;
    row.p_unequal = 0.2;
    CHECK(holds(words(), "At dawn, no difference in aci is shown between rich and poor sites."));
    row.p_unequal = 0.03;

    ContrastRow even = row_of(0.04);
    even.index = "even_events";
    even.role = Role::secondary;
    page.contrast.contrasts.push_back(even);
    CHECK(holds(words(), "Sounds counted on even terms say so too."));
    page.contrast.contrasts[1].p_adjusted = 0.3;
    CHECK(holds(words(), "say so too when taken alone, not once all outcomes are considered."));
    page.contrast.contrasts[1].p = 0.2;
    CHECK(holds(words(), "Sounds counted on even terms do not say so."));
    page.contrast.contrasts[1].p = 0.04;
    page.contrast.contrasts[1].difference = -3;
    CHECK(holds(words(), "Sounds counted on even terms do not say so."));

    page.contrast.contrasts[0].p_min = 0.3;
    CHECK(holds(words(), "so few sites cannot tell whether aci differs"));
    page.contrast.contrasts.clear();
    CHECK(words().empty());
}

TEST_CASE("four verdicts stand below the answer, the widest rival by name") {
    const Survey survey = survey_of({"R1", "P1"});
    Page page = page_of(survey, {row_of(0.012)});
    CHECK(holds(answer_section(page).text(), "Nobody has, yet."));
    CHECK(holds(answer_section(page).text(), "Not tried."));
    CHECK(holds(answer_section(page).text(), "No number of the sheets is a rival."));
    AuditRow small, wide, stand;
    small.name = "height_m";
    small.standardised = 0.6;
    wide.name = "elevation_m";
    wide.standardised = -1.4;
    stand.name = "root_mat_cm";
    stand.standardised = 9;
    stand.part_of_stand = true;
    page.contrast.audit.numbers = {small, wide, stand};
    CHECK(holds(answer_section(page).text(),
                "The classes differ in elevation too, by 1.40 standard deviations."));
    page.contrast.audit.numbers[0].standardised = 0.4;
    page.contrast.audit.numbers.resize(1);
    CHECK(holds(answer_section(page).text(), "No number of the sheets is a rival."));
}

TEST_CASE("the main doubt is the worst finding") {
    const Survey survey = survey_of({"L1", "L2"});
    Page page = page_of(survey, {row_of(0.012)});
    CHECK(holds(main_doubt(page), "No listening check was made"));
    Finding note, doubt;
    note.what = "A note.";
    doubt.severity = Severity::doubt;
    doubt.what = "Gains differ. It may explain a part.";
    page.contrast.audit.findings = {doubt, note};
    CHECK(main_doubt(page) == "Gains differ. It may explain a part.");
}

TEST_CASE("an index that did not follow the ear is the main doubt, unless the design is worse") {
    const Survey survey = survey_of({"L1", "L2"});
    Page page = page_of(survey, {row_of(0.012)});
    page.contrast.heard = {{"aci", "fullness", 0.05, -0.2, 0.3, 40, 8, 2, "does not follow"}};
    Finding doubt;
    doubt.severity = Severity::doubt;
    doubt.what = "Gains differ.";
    page.contrast.audit.findings = {doubt};
    CHECK(holds(main_doubt(page), "aci did not follow the ear here (rho 0.05, −0.20 to 0.30)"));
    page.contrast.heard[0].verdict = "opposite";
    CHECK(holds(main_doubt(page), "It fell where more animals were heard"));
    page.contrast.heard[0].verdict = "follows";
    CHECK(holds(main_doubt(page), "Gains differ."));
    page.contrast.heard[0].verdict = "does not follow";
    page.contrast.audit.findings[0].severity = Severity::serious;
    CHECK(holds(main_doubt(page), "Gains differ."));
    page.contrast.audit.findings.clear();
    page.contrast.heard[0].index = "bi";
    CHECK(holds(main_doubt(page), "No listening check was made"));
}

TEST_CASE("many findings of one code are folded behind their number, none is lost") {
    const Survey survey = survey_of({"L1", "L2"});
    Page page = page_of(survey, {row_of(0.012)});
    for (int i = 0; i < 5; ++i) {
        Finding finding;
        finding.code = i == 2 ? FindingCode::gain : FindingCode::noise_floor;
        finding.what = "Finding " + std::to_string(i) + ".";
        page.contrast.audit.findings.push_back(finding);
    }
    const std::string html = doubts_section(page).text();
    CHECK(holds(html, "<summary>3 more about the noise floor</summary>"));
    CHECK(html.find("Finding 0.") < html.find("<summary>3 more"));
    CHECK(html.find("Finding 1.") > html.find("<summary>3 more"));
    for (int i = 0; i < 5; ++i) CHECK(holds(html, "Finding " + std::to_string(i) + "."));
    page.contrast.audit.findings.pop_back();
    CHECK_FALSE(holds(doubts_section(page).text(), "more about the noise floor"));
}

TEST_CASE("a contrast that is refused, and what is kept from another plan, are told") {
    const Survey survey = survey_of({"L1", "L2"});
    Page page = page_of(survey, {});
    page.refused = "sites.csv: they differ; fix it.";
    CHECK(holds(answer_sentence(page), "is refused. sites.csv: they differ; fix it."));
    page.kept.old = {kListening, kRobustness};
    const std::string html = doubts_section(page).text();
    CHECK(holds(html, "The results of the listening check are old"));
    CHECK(holds(html, "The results of robustness are old"));
    CHECK_FALSE(holds(html, "draw-robustness"));
    CHECK_FALSE(holds(html, "was not tried"));
    CHECK_FALSE(holds(html, "No listening check was made"));
    page.kept.old.clear();
    CHECK(holds(doubts_section(page).text(), "was not tried"));
    page.kept.robustness.emplace();
    CHECK(holds(doubts_section(page).text(), "draw-robustness"));
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

TEST_CASE("a table on the page has typed cells, and its bytes are those of the file") {
    ContrastRow row = row_of(0.012);
    row.ci_low = -std::numeric_limits<double>::infinity();
    row.verdict = "=a, \"b\"";
    const std::vector<ContrastRow> rows{row};
    const NamedTable table = named_table(contrasts_table(), rows);
    CHECK(table.bytes() == contrasts_csv(rows));
    CHECK(table.rows.size() == 1);
    CHECK(table.rows[0].size() == table.description.fields.size());
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

TEST_CASE("the summary says in plain words what the primary outcome's verdict says, and no more") {
    const Survey survey = survey_of({"A", "B"});
    const Words english("en");
    const auto said = [&](ContrastRow row) {
        const Page page = page_of(survey, {std::move(row)});
        std::string text;
        for (const std::string& sentence : summary_sentences(page, english))
            text += sentence + "\n";
        return text;
    };
    const auto has = [](const std::string& text, const char* part) {
        return text.find(part) != std::string::npos;
    };
    const std::string higher = said(row_of(0.009));
    CHECK(has(higher,
              "was higher at the rich sites than at the poor sites: by 10.0. Anything from 4.10 to "
              "18.6"));
    CHECK(has(higher, "at 6 sites in forest called rich and at 6 sites in forest called poor"));
    CHECK(has(higher, "It does not count animals."));
    CHECK(has(higher, "Nobody has yet compared these numbers with what people hear."));

    // A difference of -10 from -18.6 to -4.1 is "lower by 10.0", from 4.10 to 18.6.
    ContrastRow lower = row_of(0.009);
    lower.difference = -10;
    lower.ci_low = -18.6;
    lower.ci_high = -4.1;
    CHECK(has(
        said(lower),
        "was lower at the rich sites than at the poor sites: by 10.0. Anything from 4.10 to 18.6"));

    const std::string nothing = said(row_of(0.3));
    CHECK(has(nothing, "no difference in the sound measure aci was shown"));
    CHECK(has(nothing, "does not prove that there is none"));
    CHECK_FALSE(has(nothing, "higher"));
    CHECK(has(said(row_of(0.2, 0.1)), "too few sites"));

    ContrastRow confounded = row_of(0.009);
    confounded.confounder = "elevation";
    CHECK(has(said(confounded), "Other things differ along with the forest: elevation."));

    // Of unequal counts the larger p decides, as in the verdict; a secondary outcome has to hold
    // beside the others.
    ContrastRow unequal = row_of(0.01);
    unequal.unequal_counts = true;
    unequal.p_unequal = 0.2;
    CHECK(has(said(unequal), "no difference"));
    ContrastRow secondary = row_of(0.01);
    secondary.role = Role::secondary;
    secondary.p_adjusted = 0.4;
    CHECK(has(said(secondary), "no difference"));

    Page refused = page_of(survey, {row_of(0.009)});
    refused.refused = "mixed rates.";
    CHECK(summary_sentences(refused, english).front() ==
          "The sites could not be compared; the report says why.");
}

TEST_CASE(
    "the summary is a page of its own in the survey's language, and its texts are no markup") {
    Survey survey = survey_of({"A", "B"});
    survey.title = "<script>x</script>";
    survey.language = "fr";
    const std::string html = summary_html(page_of(survey, {row_of(0.009)}));
    CHECK(holds(page_html(page_of(survey, {row_of(0.009)})), "href=\"summary.html\""));
    CHECK(html.find("<html lang=\"fr\">") != std::string::npos);
    CHECK(html.find("<script") == std::string::npos);
    CHECK((html.find("http:") == std::string::npos && html.find("https:") == std::string::npos));
    CHECK(html.find("relue par une personne") != std::string::npos);
}

#include "contrast/verdict.h"

#include <catch2/catch.hpp>

#include "base/lines.h"
#include "cases.h"
#include "contrast/methods.h"
#include "contrast/words.h"

using namespace hearwood;

namespace {

ContrastRow only_row(const std::vector<Unit>& units, ContrastPlan plan = rich_and_poor()) {
    return contrast_table(values_of(units, "aci", "dawn"), plan).front();
}

std::string readable_table(std::span<const ContrastRow> rows,
                           const std::vector<ListeningResult>& heard = {}) {
    return primary_table(rows, heard) + secondary_table(rows, heard);
}

bool states(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("a clear difference is said with its sign, size and interval") {
    const ContrastRow row = only_row(units_of({5, 6, 7, 8}, {1, 2, 3, 3.6}));
    CHECK(
        states(row.verdict, "aci, dawn: higher at rich than at poor sites by 4.10 (95 % interval"));
    CHECK(states(row.verdict, "p = 0.0286"));
    const ContrastRow mirrored = only_row(units_of({1, 2, 3, 3.6}, {5, 6, 7, 8}));
    CHECK(states(mirrored.verdict, "lower at rich than at poor sites by 4.10"));
}

TEST_CASE("no difference shown is never said to be no difference") {
    const ContrastRow row = only_row(units_of({1, 6, 2, 8}, {1, 7, 3, 4}));
    CHECK(states(row.verdict, "no difference shown"));
    CHECK(states(row.verdict, "inside the interval remains possible"));
    CHECK_FALSE(states(row.verdict, "no difference between"));
    CHECK_FALSE(states(row.verdict, "higher"));
}

TEST_CASE("an unbounded interval is explained in words") {
    const ContrastRow row = only_row(units_of({5, 6, 7}, {1, 2, 3}));
    CHECK(states(row.verdict, "least attainable p is 0.100, so the interval is unbounded"));
    CHECK(states(row.verdict, "nothing is shown either way"));
    CHECK_FALSE(states(row.verdict, "higher"));
}

TEST_CASE("too few sites, dropped blocks and missing sites are named") {
    CHECK(states(only_row(units_of({5}, {1, 2})).verdict, "not tested: 1 site of rich"));
    const ContrastRow row = only_row(pairs_of({5, 6, 7, 8}, {1, 2, 3, kMissing}));
    CHECK(states(row.verdict, "block block 3 dropped out"));
    CHECK(states(row.verdict, "without p3, which has no value"));
}

TEST_CASE("a difference that does not survive adjustment is not claimed") {
    std::vector<SiteValue> values = values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}), "aci", "dawn");
    for (const SiteValue& value : values_of(units_of({1, 6, 2, 8}, {1, 7, 3, 4}), "bi", "dawn"))
        values.push_back(value);
    const std::vector<ContrastRow> rows = contrast_table(values, rich_and_poor());
    CHECK(states(rows[0].verdict, "when taken alone, but not shown once all are considered"));
    CHECK(states(rows[0].verdict, "after adjustment for 2 outcomes"));
    CHECK(states(overall_verdict(rows, rich_and_poor()), "none of 2 outcomes differ"));
}

TEST_CASE("with unequal numbers of sites the larger of two p decides, and why is said") {
    // Welch's p of these, R 4.2: t.test(c(1, 9, 17, 25), c(1, 2, 3, 1.5, 2.5, 0.5, 3.5, 2.2))
    // gives 0.1233; all 495 permutations give 8 in 495.
    const ContrastRow row = only_row(units_of({1, 9, 17, 25}, {1, 2, 3, 1.5, 2.5, 0.5, 3.5, 2.2}));
    CHECK(row.p < 0.05);
    CHECK(row.p_unequal > 0.05);
    CHECK(states(row.verdict, "no difference shown"));
    CHECK(states(row.verdict, "as the numbers of sites differ"));
    CHECK_FALSE(states(only_row(units_of({5, 6, 7, 8}, {1, 2, 3, 9})).verdict, "the larger of"));
}

TEST_CASE("unequal numbers and unequal spread together are a finding") {
    const ContrastRow row = only_row(units_of({1, 9, 17, 25}, {1, 2, 3, 1.5, 2.5, 0.5, 3.5, 2.2}));
    const auto finding = spread_finding(row);
    REQUIRE(finding);
    CHECK(finding->severity == Severity::doubt);
    CHECK(finding->code == FindingCode::spread);
    CHECK_FALSE(spread_finding(only_row(units_of({1, 9, 17, 25}, {1, 2, 3, 1.5}))));
    CHECK_FALSE(spread_finding(only_row(units_of({1, 2, 3, 4}, {1, 2, 3, 1.5, 2.5}))));
}

TEST_CASE("the last line speaks of the primary outcome where there is one") {
    ContrastPlan plan = rich_and_poor();
    plan.primary_index = "aci";
    plan.primary_window = "dawn";
    const std::vector<ContrastRow> rows =
        contrast_table(values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}), "aci", "dawn"), plan);
    CHECK(overall_verdict(rows, plan) == rows[0].verdict);
    CHECK(states(rows[0].verdict, "primary outcome"));
}

TEST_CASE("whether anybody listened is said") {
    ContrastPlan plan = rich_and_poor();
    CHECK(states(listening_remark(plan), "No listening check was made"));
    plan.listening = "Two listeners agreed in 37 of 40 clips.";
    CHECK(listening_remark(plan) == plan.listening);
}

TEST_CASE("effect sizes are explained") {
    const std::string words = effect_in_words(only_row(units_of({5, 6, 7, 8}, {1, 2, 6.5, 4})));
    CHECK(states(words, "standard deviations of sites within a class apart"));
    CHECK(states(words, "in 88 of 100"));
}

TEST_CASE("the table fits 80 columns and aligns its numbers") {
    std::vector<SiteValue> values;
    for (const char* index : {"aci", "standout_insects_of_the_night", "power_frogs_dbfs"})
        for (const char* window : {"dawn", "the_small_hours"})
            for (const SiteValue& value :
                 values_of(units_of({-5e6, -6e6, 7e-5, 8}, {1, 2, 3, 1e5}), index, window))
                values.push_back(value);
    const std::vector<ListeningResult> heard{
        {"aci", "fullness", 0.1, -0.2, 0.4, 20, 4, 2, "does not follow"}};
    const std::vector<ContrastRow> rows = contrast_table(values, rich_and_poor());
    const std::string table = readable_table(rows) + readable_table(rows, heard);
    for (std::size_t start = 0; start < table.size();) {
        const std::size_t end = table.find('\n', start);
        const std::string line = table.substr(start, end - start);
        int characters = 0;
        for (const char c : line) characters += (static_cast<unsigned char>(c) & 0xC0u) != 0x80u;
        INFO(line);
        CHECK(characters <= 80);
        start = end + 1;
    }
}

TEST_CASE("of many secondary rows the largest are shown, by size") {
    std::vector<SiteValue> values;
    for (int i = 0; i < 4; ++i)
        for (const SiteValue& value :
             values_of(units_of({5.0 + i, 6.0 + i, 7.0 + i, 8.5 + i}, {1, 2, 3, 4}),
                       "i" + std::to_string(i)))
            values.push_back(value);
    const std::vector<ContrastRow> rows = contrast_table(values, rich_and_poor());
    const std::string table = secondary_table(rows, {}, 2);
    CHECK(table.find("\ni3") < table.find("\ni2"));
    CHECK_FALSE(states(table, "\ni1"));
    CHECK(states(table, "2 further outcomes are of smaller size"));
    CHECK(states(readable_table(rows), "\ni0"));
}

TEST_CASE("the table says beside each index how it followed the ear") {
    std::vector<SiteValue> values;
    std::vector<ListeningResult> heard;
    const char* verdicts[] = {"follows", "does not follow", "opposite", "unclear", "too few clips"};
    for (int i = 0; i < 6; ++i) {
        const std::string index = "index" + std::to_string(i);
        for (const SiteValue& value : values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}), index, "day"))
            values.push_back(value);
        if (i < 5) heard.push_back({index, "kinds", 0, 0, 0, 20, 4, 2, "follows"});
        if (i < 5) heard.push_back({index, "fullness", 0, 0, 0, 20, 4, 2, verdicts[i]});
    }
    const std::vector<ContrastRow> rows = contrast_table(values, rich_and_poor());
    const std::string table = readable_table(rows, heard);
    for (const char* line :
         {"+ index0", "x index1", "- index2", "? index3", "? index4", "  index5"})
        CHECK(states(table, std::string("\n") + line));
    CHECK(states(table, "x did not"));
    CHECK(states(readable_table(rows), "\nindex1"));
    CHECK_FALSE(states(readable_table(rows), "By ear"));
}

TEST_CASE("text is padded, cut and wrapped by characters, not bytes") {
    CHECK(right("−1", 4) == "  −1");
    CHECK(cut("überall", 4) == "übe…");
    CHECK(wrapped("a b") == "a b\n");
    CHECK(readable_p(0.00012) == "0.00012");
    CHECK(readable_p(0.0286) == "0.0286");
    CHECK(readable_plain(-1e-9) == "0");
}

TEST_CASE("the methods paragraph states what was done and no more") {
    ContrastPlan plan = rich_and_poor();
    const std::vector<ContrastRow> rows =
        contrast_table(values_of(pairs_of({5, 6, 7, 8, 2, 3}, {1, 2, 3, 4, 5, 6})), plan);
    MethodsFacts facts;
    facts.program_version = "0.1.0";
    facts.factor = "nutrient_status";
    facts.block = "river";
    const std::string text = methods_paragraph(rows, plan, facts);
    CHECK(states(text, "permuted within blocks (river)"));
    CHECK(states(text, "over all permutations"));
    CHECK_FALSE(states(text, "random permutations"));
    CHECK(states(text, "No primary outcome was declared"));
    CHECK(states(text, "No listening check was made"));
    CHECK_FALSE(states(text, "adjusted by the step-down"));  // nothing to adjust in a family of one
    CHECK(states(methods_references(), "Westfall, P. H. & Young, S. S. (1993)"));
}

TEST_CASE("the primary outcome is told with whether it holds on even terms") {
    const auto said = [](const std::vector<double>& a, const std::vector<double>& b,
                         const std::vector<double>& even_a, const std::vector<double>& even_b) {
        std::vector<SiteValue> values = values_of(units_of(a, b), "aci", "dawn");
        for (const SiteValue& value : values_of(units_of(even_a, even_b), "even_aci", "dawn"))
            values.push_back(value);
        for (const SiteValue& value :
             values_of(units_of({1, 6, 2, 8}, {1, 7, 3, 4}), "even_events", "dawn"))
            values.push_back(value);
        ContrastPlan plan = rich_and_poor();
        plan.primary_index = "aci";
        plan.primary_window = "dawn";
        return overall_verdict(contrast_table(values, plan), plan);
    };
    const std::vector<double> high{5, 6, 7, 8}, low{1, 2, 3, 4}, mixed{1, 6, 2, 8},
        other{1, 7, 3, 4};
    CHECK(
        states(said(high, low, high, low),
               "This also holds when every site is heard through the same noise (even_aci: 4.00"));
    CHECK(states(said(high, low, mixed, other),
                 "But not when every site is heard through the same noise"));
    CHECK(states(said(high, low, low, high),
                 "But not when every site is heard through the same noise"));
    CHECK(states(said(mixed, other, high, low),
                 "But when every site is heard through the same noise it is higher at rich"));
    CHECK(states(said(mixed, other, mixed, other), "Nor is one when every site"));
    CHECK(states(said(high, low, high, low),
                 "Sound events, every site heard through the same noise: no difference shown"));
    // Not measured so, or on even terms already: nothing is added.
    CHECK_FALSE(
        states(said(high, low, {kMissing, kMissing, kMissing, kMissing}, low), "(even_aci"));
}

TEST_CASE("what to know of even values stands beside them without a primary outcome too") {
    ContrastPlan plan = rich_and_poor();
    plan.beside_even = "Levels are as recorded.";
    const auto said = [&](const char* second) {
        std::vector<SiteValue> values =
            values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}), "aci", "dawn");
        for (const SiteValue& value :
             values_of(units_of({1, 6, 2, 8}, {1, 7, 3, 4}), second, "dawn"))
            values.push_back(value);
        return overall_verdict(contrast_table(values, plan), plan);
    };
    CHECK(said("even_aci").ends_with(" Levels are as recorded."));
    CHECK_FALSE(states(said("bi"), "as recorded"));
}

TEST_CASE("what cannot be told from the stand is told with a difference and without one") {
    ContrastPlan plan = rich_and_poor();
    plan.confounder = "elevation";
    const char* ending = ", but elevation cannot be told from the stand.";
    CHECK(only_row(units_of({5, 6, 7, 8}, {1, 2, 3, 3.6}), plan).verdict.ends_with(ending));
    CHECK(only_row(units_of({1, 6, 2, 8}, {1, 7, 3, 4}), plan).verdict.ends_with(ending));
    CHECK_FALSE(states(only_row(units_of({5}, {1, 2}), plan).verdict, "elevation"));
}

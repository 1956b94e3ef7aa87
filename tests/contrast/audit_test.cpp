#include "contrast/audit.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

using namespace hearwood;

namespace {

/// Four rich and four poor sites, alternating along two rivers, alike in everything.
std::vector<AuditSite> fair_sites() {
    std::vector<AuditSite> sites;
    for (int i = 0; i < 8; ++i) {
        AuditSite site;
        site.site = "s" + std::to_string(i);
        site.stand = i % 2 ? "poor" : "rich";
        site.block = i < 4 ? "upper" : "lower";
        site.latitude = 1.5 + 0.01 * i;
        site.longitude = 113;
        // Four recorders, each at one rich and one poor site.
        site.recorders = {"recorder " + std::to_string(i / 2)};
        site.dates = {"2026-03-01", "2026-03-02", "2026-03-03", "2026-03-04"};
        site.hour_minutes.fill(60);
        site.noise_floor_dbfs = -62 + 0.3 * (i % 4);
        sites.push_back(site);
    }
    return sites;
}

Audit whole_audit(const std::vector<AuditSite>& sites,
                  const std::vector<AuditNumber>& numbers = {}) {
    AuditSettings settings;
    settings.class_a = "rich";
    settings.class_b = "poor";
    return audit_design(sites, numbers, settings);
}

std::vector<Finding> audit(const std::vector<AuditSite>& sites,
                           const std::vector<AuditNumber>& numbers = {}) {
    return whole_audit(sites, numbers).findings;
}

/// A number of the fair sites, rich and poor in turn.
AuditNumber number(AuditNumber::Kind kind, std::vector<double> values) {
    return {"it", "m", kind, false, std::move(values)};
}

const Finding* find(const std::vector<Finding>& findings, FindingCode code) {
    const auto place = std::find_if(findings.begin(), findings.end(),
                                    [&](const Finding& f) { return f.code == code; });
    return place == findings.end() ? nullptr : &*place;
}

template <class Change>
std::vector<AuditSite> changed(Change change) {
    std::vector<AuditSite> sites = fair_sites();
    for (AuditSite& site : sites) change(site, site.stand == "rich");
    return sites;
}

}  // namespace

TEST_CASE("a fair design has no finding") {
    for (const Finding& finding : audit(fair_sites())) FAIL(one_line(finding));
}

TEST_CASE("a standardised difference is that over the residual deviation of class and block") {
    // Two blocks of two rich and two poor sites. Block means 15 and 35, class effect 2 of rich
    // minus poor: residuals by hand are +-1 and +-3 within the cells, so the residual sum of
    // squares is 4 * 1 + 4 * 9 = 40 on 8 - 2 - 1 = 5 degrees of freedom.
    std::vector<AuditSite> sites = fair_sites();
    const std::vector<double> values{17, 15, 15, 13, 39, 37, 33, 31};
    const Audit found = whole_audit(sites, {number(AuditNumber::Kind::elevation, values)});
    REQUIRE(found.numbers.size() == 1);
    const AuditRow& row = found.numbers[0];
    CHECK(row.n_a == 4);
    CHECK(row.mean_a == 26);
    CHECK(row.mean_b == 24);
    CHECK(row.difference == Approx(2));
    CHECK(row.standardised == Approx(2 / std::sqrt(40.0 / 5)).epsilon(1e-12));
    CHECK(row.severity() == Severity::doubt);  // 0.707
    CHECK(find(found.findings, FindingCode::elevation)->severity == Severity::doubt);
}

TEST_CASE("where no block holds both classes the numbers are compared without blocks") {
    const auto sites = changed([](AuditSite& site, bool rich) { site.block = rich ? "a" : "b"; });
    const Audit found =
        whole_audit(sites, {number(AuditNumber::Kind::height, {3, 1, 3, 1, 4, 1, 4, 2})});
    CHECK(found.numbers[0].n_a == 4);
    // By hand: means 3.5 and 1.25, sums of squares 1 and 0.75 on 6 degrees of freedom.
    CHECK(found.numbers[0].standardised == Approx(2.25 / std::sqrt(1.75 / 6)).epsilon(1e-12));
    CHECK(find(found.findings, FindingCode::height)->what.find("within blocks") ==
          std::string::npos);
}

TEST_CASE("the size decides: 0.5 is a doubt, 1 is serious") {
    AuditRow row;
    row.standardised = -0.4999;
    CHECK(row.severity() == Severity::note);
    row.standardised = -0.5;
    CHECK(row.severity() == Severity::doubt);
    row.standardised = 1;
    CHECK(row.severity() == Severity::serious);
    row.part_of_stand = true;
    CHECK(row.severity() == Severity::note);
}

TEST_CASE("a gain that goes with the class has no spread within it and is serious") {
    const auto findings =
        audit(fair_sites(), {number(AuditNumber::Kind::gain, {30, 24, 30, 24, 30, 24, 30, 24})});
    const Finding* gain = find(findings, FindingCode::gain);
    REQUIRE(gain);
    CHECK(gain->severity == Severity::serious);
    CHECK(gain->what.find("no spread") != std::string::npos);
    CHECK(worst_explanation(findings) == gain);
    CHECK(confounder_of(*gain) == "the recorders' gain");
    // Equal everywhere, whatever the number, is no difference.
    CHECK(audit(fair_sites(), {number(AuditNumber::Kind::gain, std::vector<double>(8, 0.1))})
              .empty());
}

TEST_CASE("a column is a doubt by its size, unless it is part of the stand") {
    AuditNumber depth = number(AuditNumber::Kind::column, {2, 30, 3, 28, 2, 31, 3, 29});
    depth.name = "root_mat_cm";
    const auto findings = audit(fair_sites(), {depth});
    const Finding* column = find(findings, FindingCode::column);
    REQUIRE(column);
    CHECK(column->severity == Severity::serious);
    CHECK(column->subject == Subject::column("root_mat_cm"));
    // The sentence stands alone too, as the page's main doubt.
    CHECK(column->what.starts_with("Root mat is 2.5"));
    depth.part_of_stand = true;
    const auto described = audit(fair_sites(), {depth});
    CHECK_FALSE(find(described, FindingCode::column));
    CHECK(confounder_of(*column) == "root mat");
    REQUIRE(find(described, FindingCode::stand));
    CHECK(find(described, FindingCode::stand)->severity == Severity::note);
    CHECK(find(described, FindingCode::stand)->what.find("root mat 2.5") != std::string::npos);
    CHECK_FALSE(worst_explanation(described));
}

TEST_CASE("numbers that two sites of a class lack are not compared") {
    const double none = kMissing;
    const Audit found = whole_audit(
        fair_sites(), {number(AuditNumber::Kind::height, {3, 1, none, 1, none, 1, none, 1})});
    CHECK(is_missing(found.numbers[0].standardised));
    CHECK(found.findings.empty());
    CHECK(found.looked_at.find(", it") == std::string::npos);
}

TEST_CASE("what was looked at is listed where nothing was found") {
    const Audit found =
        whole_audit(fair_sites(), {number(AuditNumber::Kind::height, {1, 1, 2, 2, 1, 1, 2, 2})});
    CHECK(found.findings.empty());
    CHECK(found.looked_at ==
          "Looked at: blocks, recorders, dates, hours of the day, where the sites stand, quietest "
          "levels, it.");
    CHECK(unseen_by_audit().find("sound carries") != std::string::npos);
}

TEST_CASE("one deaf microphone is found whatever its class") {
    std::vector<AuditSite> sites = fair_sites();
    sites[3].noise_floor_dbfs = -95;
    const auto findings = audit(sites);
    const Finding* floor = find(findings, FindingCode::odd_floor);
    REQUIRE(floor);
    CHECK(floor->subject == Subject::site("s3"));
    CHECK(floor->what.find("quiet forest") != std::string::npos);
    // Of several the one that is furthest off comes first: the page's main doubt is the first.
    sites[1].noise_floor_dbfs = -78;
    const auto two = audit(sites);
    CHECK(find(two, FindingCode::odd_floor)->subject == Subject::site("s3"));
}

TEST_CASE("recorders that never cross the classes are serious, one each is a note") {
    const auto apart =
        audit(changed([](AuditSite& site, bool rich) { site.recorders = {rich ? "r" : "p"}; }));
    REQUIRE(find(apart, FindingCode::recorders_apart));
    CHECK(find(apart, FindingCode::recorders_apart)->severity == Severity::serious);
    const auto own = audit(changed([](AuditSite& site, bool) { site.recorders = {site.site}; }));
    REQUIRE(find(own, FindingCode::own_recorders));
    CHECK(find(own, FindingCode::own_recorders)->severity == Severity::note);
}

TEST_CASE("dates: the share of site-dates that both classes have decides") {
    const auto apart = audit(changed([](AuditSite& site, bool rich) {
        if (rich) site.dates = {"2026-05-01", "2026-05-02"};
    }));
    REQUIRE(find(apart, FindingCode::dates));
    CHECK(find(apart, FindingCode::dates)->severity == Severity::serious);
    CHECK(find(apart, FindingCode::dates)->what.find("0 of 24 site-dates") != std::string::npos);
    CHECK(find(apart, FindingCode::dates)->what.find("all of a difference") != std::string::npos);
    // One site of eight elsewhere in time: 28 of 32.
    std::vector<AuditSite> sites = fair_sites();
    sites[0].dates = {"2026-04-01", "2026-04-02", "2026-04-03", "2026-04-04"};
    const auto orphan = audit(sites);
    REQUIRE(find(orphan, FindingCode::dates));
    CHECK(find(orphan, FindingCode::dates)->severity == Severity::doubt);
    CHECK(find(orphan, FindingCode::dates)->what.find("28 of 32 site-dates") != std::string::npos);
    CHECK(find(orphan, FindingCode::dates)->what.find("192 of 192 site-hours") !=
          std::string::npos);
}

TEST_CASE("hours that only one class recorded are found") {
    const auto findings = audit(changed([](AuditSite& site, bool rich) {
        if (rich) site.hour_minutes[5] = 0;
        if (!rich) site.hour_minutes[6] = 10;
    }));
    REQUIRE(find(findings, FindingCode::hours));
    CHECK(find(findings, FindingCode::hours)->what.find("hours 05.") != std::string::npos);
    CHECK(find(findings, FindingCode::hours)->what.find("184 of 188 site-hours") !=
          std::string::npos);
    REQUIRE(find(findings, FindingCode::thin_hours));
    CHECK(find(findings, FindingCode::thin_hours)->what.find("hours 06.") != std::string::npos);
    CHECK(findings.size() == 2);
    const auto by_night = audit(changed([](AuditSite& site, bool rich) {
        for (std::size_t hour = 0; hour < 24; ++hour)
            if (rich == (hour < 12)) site.hour_minutes[hour] = 0;
    }));
    CHECK(find(by_night, FindingCode::hours)->severity == Severity::serious);
}

TEST_CASE("trails and blocks of one class") {
    const auto trails =
        audit(changed([](AuditSite& site, bool rich) { site.trail = rich ? "north" : "south"; }));
    CHECK(find(trails, FindingCode::trails));
    const auto own = audit(changed([](AuditSite& site, bool) { site.trail = site.site; }));
    CHECK_FALSE(find(own, FindingCode::trails));
    const auto blocks =
        audit(changed([](AuditSite& site, bool rich) { site.block = rich ? "a" : "b"; }));
    REQUIRE(find(blocks, FindingCode::one_class_blocks));
    CHECK(find(blocks, FindingCode::one_class_blocks)->severity == Severity::serious);
}

TEST_CASE("two sites of a class within the listening distance are one site") {
    std::vector<AuditSite> sites = fair_sites();
    sites[2].latitude = sites[0].latitude + 0.0009;
    const auto findings = audit(sites);
    const Finding* distance = find(findings, FindingCode::same_class_near);
    REQUIRE(distance);
    CHECK(distance->severity == Severity::serious);
    CHECK(distance->what.find("s0 and s2 (100 m)") != std::string::npos);
}

TEST_CASE("sites within the listening distance are grouped, by way of others too") {
    std::vector<AuditSite> sites = fair_sites();
    // s0, s2: 100 m; s2 and a further one: 200 m. s1 is of the other class.
    sites[2].latitude = sites[0].latitude + 0.0009;
    sites[1].latitude = sites[0].latitude;
    AuditSite third = sites[2];
    third.site = "s9";
    third.latitude += 0.0018;
    sites.push_back(third);
    const auto groups = nearby_groups(sites, 250);
    REQUIRE(groups.size() == 1);
    CHECK(groups[0] == std::vector<std::string>{"s0", "s2", "s9"});
    CHECK(nearby_groups(sites, 90).empty());

    std::vector<Unit> units{{"s0", "rich", "", 1},
                            {"s2", "rich", "", 4},
                            {"s9", "rich", "", kMissing},
                            {"s4", "rich", "", 7}};
    const std::vector<Unit> merged = with_groups_as_one(units, groups);
    REQUIRE(merged.size() == 2);
    CHECK(merged[0].site == "s4");
    CHECK(merged[1].site == "s0 + s2 + s9");
    CHECK(merged[1].value == 2.5);
}

TEST_CASE("classes that stand in two places are found") {
    const auto findings = audit(changed([](AuditSite& site, bool rich) {
        if (rich) site.longitude = 114;
    }));
    const Finding* clumped = find(findings, FindingCode::clumped);
    REQUIRE(clumped);
    CHECK(clumped->severity == Severity::serious);
    CHECK(clumped->what.find("at 8 of 8 sites") != std::string::npos);
}

TEST_CASE("clumps of a class are a doubt, chequered sites are not") {
    // Pairs of a class along a line, 2 km within and 9 km between pairs; without blocks. A site's
    // neighbour is alike in 3 of 7 permutations: 3.43 of 8.
    std::vector<AuditSite> sites = fair_sites();
    for (int i = 0; i < 8; ++i) {
        sites[i].block.clear();
        sites[i].stand = i / 2 % 2 ? "poor" : "rich";
        sites[i].latitude = 1.5 + 0.1 * (i / 2) + 0.02 * (i % 2);
    }
    const auto findings = audit(sites);
    REQUIRE(find(findings, FindingCode::clumped));
    CHECK(find(findings, FindingCode::clumped)->severity == Severity::serious);
    CHECK(find(findings, FindingCode::clumped)->what.find("would have it at 3.43") !=
          std::string::npos);
    // Two of the eight swapped: 4 of 8 against 3 of 7 at random is no clumping.
    std::swap(sites[1].stand, sites[2].stand);
    CHECK_FALSE(find(audit(sites), FindingCode::clumped));
}

TEST_CASE("several sample rates are serious") {
    std::vector<AuditSite> sites = fair_sites();
    sites[0].sample_rates_hz = {48000};
    sites[1].sample_rates_hz = {24000};
    const auto findings = audit(sites);
    const Finding* rates = find(findings, FindingCode::sample_rate);
    REQUIRE(rates);
    CHECK(rates->severity == Severity::serious);
}

TEST_CASE("a degree of latitude is 111.195 km on the mean sphere") {
    // 2 pi 6371.0088 km / 360.
    CHECK(distance_m(1, 113, 2, 113) == Approx(111195.08).margin(0.01));
    CHECK(distance_m(0, 179.5, 0, -179.5) == Approx(111195.08).margin(0.01));
}

TEST_CASE("sites whose values lean on the model, and sites without one, are named") {
    auto sites = fair_sites();
    sites[1].leaning = {{"dawn", 2.41}, {"day", 3.0}};
    sites[2].incomparable = {"night"};
    const auto findings = audit(sites);
    REQUIRE(findings.size() == 2);
    CHECK(findings[0].code == FindingCode::no_value);
    CHECK(findings[0].what.starts_with("No value: s2 (night)."));
    CHECK(findings[1].code == FindingCode::leans);
    CHECK(findings[1].what.starts_with(
        "Values lean on the model of dates and times: s1 (dawn 2.4, day 3.0)."));
    for (const Finding& finding : findings) {
        CHECK(finding.severity == Severity::doubt);
        CHECK(can_explain(finding.code));
    }
}

TEST_CASE("a long time without a date at a site is a question") {
    auto sites = fair_sites();
    sites[3].gap_days = 60;
    CHECK(audit(sites).empty());
    sites[3].gap_days = 61;
    sites[3].gap_from = "2026-03-09";
    sites[3].gap_to = "2026-05-09";
    const auto findings = audit(sites);
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].code == FindingCode::visits);
    CHECK(findings[0].what.find("s3 (none from 2026-03-09 to 2026-05-09)") != std::string::npos);
}

namespace {

/// So many bands alike at all sites, then so many that lie apart.
std::vector<AuditNumber> backgrounds(int alike, int apart) {
    std::vector<AuditNumber> bands;
    for (int band = 0; band < alike + apart; ++band) {
        const double more = band < alike ? 0 : 11 + 0.01 * band;
        AuditNumber& number = bands.emplace_back();
        number.name = "background " + std::to_string(250 * band) + " to " +
                      std::to_string(250 * band + 250) + " Hz";
        number.unit = "dBFS";
        number.kind = AuditNumber::Kind::background;
        for (int site = 0; site < 8; ++site)
            number.values.push_back(-70 - site / 2 % 2 + (site % 2 ? 0 : more));
    }
    return bands;
}

}  // namespace

TEST_CASE("the background's bands are told together, serious where a third of them is") {
    const Audit found = whole_audit(fair_sites(), backgrounds(8, 4));
    REQUIRE(found.numbers.size() == 12);
    CHECK(found.numbers[7].standardised == Approx(0).margin(1e-12));
    CHECK(found.numbers[11].difference == Approx(11.11));
    CHECK(found.numbers[11].severity() == Severity::serious);
    REQUIRE(found.findings.size() == 1);
    CHECK(found.findings[0].code == FindingCode::background);
    CHECK(found.findings[0].severity == Severity::serious);
    CHECK(found.findings[0].what.find("in 4 of 12 bands") != std::string::npos);
    CHECK(found.findings[0].what.find("background 2750 to 3000 Hz") != std::string::npos);
    CHECK(confounder_of(found.findings[0]) == "background noise");
    const std::vector<Finding> few = audit(fair_sites(), backgrounds(9, 4));
    REQUIRE(few.size() == 1);
    CHECK(few[0].severity == Severity::doubt);
    CHECK(audit(fair_sites(), backgrounds(4, 0)).empty());
}

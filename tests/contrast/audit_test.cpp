#include "contrast/audit.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "contrast/nearby.h"

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
        site.elevation_m = 40 + (i / 2) % 2;
        // Four recorders, each at one rich and one poor site.
        site.recorders = {"recorder " + std::to_string(i / 2)};
        site.gains_db = {24};
        site.heights_m = {1.5};
        site.first_date = "2026-03-01";
        site.last_date = "2026-03-09";
        site.hour_minutes.fill(60);
        site.noise_floor_dbfs = -62 + 0.3 * (i % 4);
        sites.push_back(site);
    }
    return sites;
}

std::vector<Finding> audit(const std::vector<AuditSite>& sites,
                           const std::vector<AuditColumn>& columns = {}) {
    const std::vector<std::string> gain_indices{"adi", "aei"};
    AuditSettings settings;
    settings.class_a = "rich";
    settings.class_b = "poor";
    return audit_design(sites, columns, gain_indices, settings);
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

TEST_CASE("a gain that goes with the class touches the indices that depend on it") {
    const auto findings =
        audit(changed([](AuditSite& site, bool rich) { site.gains_db = {rich ? 30.0 : 24.0}; }));
    const Finding* gain = find(findings, FindingCode::gain);
    REQUIRE(gain);
    CHECK(gain->severity == Severity::serious);
    CHECK(can_explain(gain->code));
    CHECK(gain->what.find("adi, aei") != std::string::npos);
}

TEST_CASE("each number that separates the classes is found") {
    CHECK(find(audit(changed([](AuditSite& s, bool rich) { s.heights_m = {rich ? 3.0 : 1.5}; })),
               FindingCode::height));
    CHECK(find(audit(changed([](AuditSite& s, bool rich) { s.elevation_m = rich ? 90 : 40; })),
               FindingCode::elevation));
    CHECK(
        find(audit(changed([](AuditSite& s, bool rich) { s.noise_floor_dbfs = rich ? -58 : -66; })),
             FindingCode::noise_floor));
    std::vector<double> depth;
    for (const AuditSite& site : fair_sites()) depth.push_back(site.stand == "rich" ? 2 : 30);
    const auto findings = audit(fair_sites(), {{"root_mat_cm", depth}});
    const Finding* column = find(findings, FindingCode::column);
    REQUIRE(column);
    // A column may be what makes the stand: worth knowing, not a flaw.
    CHECK(column->severity == Severity::note);
    CHECK(column->subject == Subject::column("root_mat_cm"));
}

TEST_CASE("a small difference in noise floor or gain is no finding") {
    CHECK_FALSE(
        find(audit(changed([](AuditSite& s, bool rich) { s.noise_floor_dbfs = rich ? -61 : -62; })),
             FindingCode::noise_floor));
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

TEST_CASE("dates: apart is serious, a stranger is a doubt, the same span is nothing") {
    const auto apart = audit(changed([](AuditSite& site, bool rich) {
        if (rich) site.first_date = "2026-05-01", site.last_date = "2026-05-09";
    }));
    REQUIRE(find(apart, FindingCode::dates));
    CHECK(find(apart, FindingCode::dates)->severity == Severity::serious);
    std::vector<AuditSite> sites = fair_sites();
    sites[0].first_date = "2026-04-01";
    sites[0].last_date = "2026-04-09";
    const auto stranger = audit(sites);
    REQUIRE(find(stranger, FindingCode::dates));
    CHECK(find(stranger, FindingCode::dates)->severity == Severity::doubt);
}

TEST_CASE("hours that only one class recorded are found") {
    const auto findings = audit(changed([](AuditSite& site, bool rich) {
        if (rich) site.hour_minutes[5] = 0;
        if (!rich) site.hour_minutes[6] = 10;
    }));
    std::vector<std::string> whats;
    for (const Finding& finding : findings) whats.push_back(finding.what);
    REQUIRE(findings.size() == 2);
    CHECK(whats[0].find("05") != std::string::npos);
    CHECK(whats[1].find("06") != std::string::npos);
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
    const Finding* distance = find(findings, FindingCode::clumped);
    REQUIRE(distance);
    CHECK(distance->what.find("apart") != std::string::npos);
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

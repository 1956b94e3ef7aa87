#include "plan/plan.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <iterator>

#include "../survey/support.h"
#include "base/missing.h"
#include "base/sheet.h"
#include "contrast/audit.h"
#include "contrast/power.h"
#include "plan/printed.h"
#include "plan/schedules.h"
#include "plan/spacing.h"
#include "plan/visits.h"
#include "survey/columns.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;

namespace {

std::string text_of(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

Lines warnings_of(const std::string& sites) {
    SheetTexts texts;
    texts.sites = sites;
    texts.deployments = "deployment,site,folder\n";
    Lines lines;
    for (const Problem& problem : spacing_warnings(texts.load(), 250))
        lines.push_back(one_line(problem));
    return lines;
}

/// Wrapped entries as one line each.
std::string one_line_each(std::string text) {
    for (std::size_t at; (at = text.find("\n    ")) != std::string::npos;) text.replace(at, 5, " ");
    return text;
}

const Words english("en");

std::size_t count(const std::string& text, const std::string& part) {
    std::size_t found = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1))
        ++found;
    return found;
}

}  // namespace

TEST_CASE("card arithmetic by hand") {
    // 48,000 samples x 2 bytes x 60 s = 5.76 MB a minute; 240 minutes a day = 1.3824 GB.
    Schedule schedule;
    schedule.minutes_per_hour = 10;
    schedule.card_gb = 128;
    const Budget budget = budget_of(schedule);
    CHECK(budget.bytes_per_minute == 5'760'000);
    CHECK(budget.gb_per_day == Approx(1.3824));
    CHECK(budget.gb_in_all == Approx(41.472));
    CHECK(*budget.card_days == Approx(128 * 0.95 / 1.3824));
    // 24 bits, two channels, 96 kHz: 576,000 bytes a second.
    schedule.rate_hz = 96'000;
    schedule.bits = 24;
    schedule.channels = 2;
    CHECK(budget_of(schedule).bytes_per_minute == 34'560'000);
    CHECK(budget_of(schedule).longest_wav_minutes == Approx(4294967296.0 / 34'560'000));
}

TEST_CASE("battery arithmetic by hand") {
    // A sixth of the time 36 mA, the rest 1.2 mA: 7 mA, 168 mAh a day; 80 % of 9,000 mAh
    // last 42.857 days.
    Schedule schedule;
    schedule.minutes_per_hour = 10;
    schedule.battery_mah = 9000;
    schedule.record_ma = 36;
    schedule.sleep_ma = 1.2;
    const Budget budget = budget_of(schedule);
    CHECK(*budget.mean_ma == Approx(7));
    CHECK(*budget.mah_in_all == Approx(5040));
    CHECK(*budget.battery_days == Approx(9000 * 0.8 / 168));
    // A recorder that never sleeps needs no figure for sleeping; one that does, does.
    schedule.sleep_ma.reset();
    CHECK(!budget_of(schedule).mean_ma);
    schedule.minutes_per_hour = 60;
    CHECK(*budget_of(schedule).mean_ma == 36);
}

TEST_CASE("the budget in words says what lasts, what does not and what is not known") {
    Schedule schedule;
    const auto text = [&] { return one_line_each(budget_text(schedule)); };
    schedule.minutes_per_hour = 10;
    CHECK(text() ==
          "  48000 Hz, 16 bits, 1 channel, 10 of 60 minutes, 30 days: 1.38 GB a day, 41.5 GB in "
          "all (WAV)\n"
          "  card: at least 43.7 GB\n"
          "  battery: not worked out; measure your recorder's draw and give --battery-mah, "
          "--record-ma, --sleep-ma\n");
    schedule.card_gb = 32;
    schedule.record_ma = 36;
    CHECK(text().find("full after 22.0 days, SHORT OF the 30 planned") != std::string::npos);
    CHECK(text().find("the draw of sleeping is missing (--sleep-ma)") != std::string::npos);
    schedule.sleep_ma = 1.2;
    schedule.battery_mah = 9000;
    CHECK(text().find("mean draw 7.00 mA, 5040 mAh over 30 days") != std::string::npos);
    CHECK(text().find("empty after 42.9 days, which covers the 30 planned") != std::string::npos);
    schedule.rate_hz = 384'000;
    CHECK(text().find("a WAV file holds at most 93.2 minutes of this (4 GiB)") !=
          std::string::npos);
}

TEST_CASE("each visit has the schedule of its own row, and what the call states goes first") {
    SheetTexts texts;
    texts.deployments =
        "deployment,site,folder,start,end,expected_minutes_per_hour\n"
        "D1,S1,recordings/D1,2031-05-04 12:00,2031-05-06 00:00,10\n"
        "D2,S2,recordings/D2,2031-05-04 12:00,,\n";
    const Survey survey = texts.load();
    Lines undated;
    const auto visits = visits_of(survey, date("2031-05-04"), 7, undated);
    StatedSchedule stated;
    const Schedule first = schedule_of(survey, visits[0], stated);
    CHECK(first.minutes_per_hour == 10);
    CHECK(first.days == 1.5);
    CHECK(schedule_of(survey, visits[1], stated).minutes_per_hour == 60);
    CHECK(schedule_of(survey, visits[1], stated).days == 7);
    CHECK(greatest_schedule(survey, stated).minutes_per_hour == 10);
    CHECK(greatest_schedule(survey, stated).days == 2);
    CHECK(stated_text(survey, visits[0], stated, english) ==
          "48000 Hz, 16 bits, 1 channel, 10 of 60 minutes");
    CHECK(stated_text(survey, visits[1], stated, english) == "");  // nobody has said it
    stated.minutes_per_hour = 5;
    stated.days = 30;
    CHECK(schedule_of(survey, visits[0], stated).minutes_per_hour == 5);
    CHECK(schedule_of(survey, visits[0], stated).days == 30);
    CHECK(stated_text(survey, visits[1], stated, english) ==
          "48000 Hz, 16 bits, 1 channel, 5 of 60 minutes");

    // 5 of 60 minutes of 5.76 MB for 30 days: 20.736 GB; 21.8274 GB with a twentieth left free.
    stated.recorder.card_gb = 16;
    const TemporaryFolder folder;
    write_budgets(survey, visits, stated, folder.path() / "budget.csv");
    CHECK(text_of(folder.path() / "budget.csv")
              .find("\nD1,S1,2031-05-04,2031-05-05,48000,16,1,5,24,30,0.6912,20.736,21.82") !=
          std::string::npos);
    CHECK(text_of(folder.path() / "budget.csv").find(",16,21.99") != std::string::npos);
}

TEST_CASE("what the design may be mistaken for is a table too") {
    DesignFindings findings;
    findings.sheets = {{.file = "sites.csv", .line = 4, .what = "odd, this", .fix = "look"}};
    findings.confounds = {{Severity::serious, FindingCode::odd_floor, Subject::site("S1"),
                           "Gain differs. All of it.", "Set it alike."}};
    const TemporaryFolder folder;
    write_design(findings, folder.path() / "design.csv");
    CHECK(text_of(folder.path() / "design.csv") ==
          "severity,code,subject,file,line,finding,fix\n"
          "serious,odd-floor,site S1,,,Gain differs. All of it.,Set it alike.\n"
          "warning,sheets,,sites.csv,4,\"odd, this\",look\n");
}

TEST_CASE("sites within hearing of each other are warned of, along the trail too") {
    const std::string head =
        "site,latitude,longitude,nutrient_status,trail,trail_m\n"
        "S1,1.5,110.3,rich,T,0\nS2,1.6,110.3,rich,U,0\n";
    // A degree of latitude is 111.195 km on the sphere of distance_m: 0.002 degrees are 222 m.
    CHECK(warnings_of(head + "S3,1.502,110.3,poor,,\nS4,1.7,110.3,poor,,\n") ==
          Lines{"sites.csv:4: warning: S1 and S3 are 222 m apart, nearer than the listening "
                "distance of 250 m; they hear the same "
                "animals, so that the classes look alike: move one of them"});
    CHECK(warnings_of(head + "S3,1.602,110.3,poor,,\nS4,1.60395,110.3,poor,,\n").size() == 2);
    CHECK(warnings_of(head + "S3,1.4,110.3,poor,,\nS4,1.402,110.3,poor,,\n") ==
          Lines{"sites.csv:5: warning: S3 and S4 are 222 m apart, nearer than the listening "
                "distance of 250 m; they hear the same "
                "animals and are one replicate: move one of them"});
    CHECK(warnings_of(head + "S3,1.53,110.3,poor,T,240\nS4,1.7,110.3,poor,T,33000\n") ==
          Lines{"sites.csv:4: warning: S1 and S3 are 3336 m apart (240 m along the trail), nearer "
                "than the listening distance of 250 "
                "m; they hear the same animals, so that the classes look alike: move one of them",
                "sites.csv:4: warning: S1 and S3 are 3336 m apart by their coordinates, but 240 m "
                "along the trail; no trail is shorter "
                "than the straight line: check latitude, longitude and trail_m"});
    CHECK(warnings_of(head + "S3,1.53,110.3,poor,T,3500\nS4,1.7,110.3,poor,,\n") == Lines{});
}

TEST_CASE("visits take the sheet's dates, then --from and --days") {
    SheetTexts texts;
    texts.deployments =
        "deployment,site,folder,start,end\nD1,S1,recordings/D1,2031-05-04 12:00,2031-05-06 12:00\n"
        "D2,S2,recordings/D2,2031-05-04 12:00,\nD3,S3,recordings/D3,,2031-05-10 12:00\n";
    const Survey survey = texts.load();
    const auto shown = [&](std::optional<std::chrono::local_days> from) {
        Lines lines, undated;
        for (const Visit& visit : visits_of(survey, from, 3, undated))
            lines.push_back(survey.sites[visit.site].name + ' ' + format_date(visit.first) + ' ' +
                            format_date(visit.last));
        for (const std::string& name : undated) lines.push_back(name + " undated");
        return lines;
    };
    CHECK(shown({}) == Lines{"S1 2031-05-04 2031-05-06", "S2 2031-05-04 2031-05-06",
                             "S3 2031-05-08 2031-05-10", "S4 undated"});
    // Taken in before --from: the sheet's date counts.
    CHECK(shown(date("2031-06-01"))[2] == "S3 2031-05-08 2031-05-10");
    CHECK(shown(date("2031-05-01")) == Lines{"S1 2031-05-04 2031-05-06", "S2 2031-05-04 2031-05-06",
                                             "S3 2031-05-01 2031-05-10",
                                             "S4 2031-05-01 2031-05-03"});
}

TEST_CASE("a visit that ends at midnight ends on the date before, and keeps its length") {
    SheetTexts texts;
    texts.deployments = "deployment,site,folder,start,end\nD1,S1,recordings/D1,,2031-05-10 00:00\n";
    Lines undated;
    const std::vector<Visit> visits = visits_of(texts.load(), {}, 3, undated);
    REQUIRE_FALSE(visits.empty());
    CHECK(format_date(visits[0].first) == "2031-05-07");
    CHECK(format_date(visits[0].last) == "2031-05-09");
}

TEST_CASE("sun times are a row a site and date, over year's end") {
    SheetTexts texts;
    texts.deployments =
        "deployment,site,folder,start,end\nD1,S1,recordings/D1,2031-12-31 12:00,2032-01-01 12:00\n"
        "D2,S1,recordings/D2,2031-12-31 12:00,2032-01-02 12:00\n";
    const Survey survey = texts.load();
    Lines undated;
    const TemporaryFolder folder;
    write_sun_times(survey, visits_of(survey, {}, 3, undated), folder.path() / "sun.csv");
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(folder.path() / "sun.csv", "sun.csv", problems);
    CHECK(problems.empty());
    CHECK(sheet.header ==
          Lines{"site", "date", "sunrise", "sunset", "dawn_from", "dawn_to", "state"});
    REQUIRE(sheet.rows.size() == 3);
    CHECK(sheet.rows[1].cells[1] == "2032-01-01");
    CHECK(sheet.rows[1].cells[2].substr(0, 14) == "2032-01-01T06:");
    CHECK(sheet.rows[1].cells[2].substr(19) == "+08:00");
    CHECK(sheet.rows[1].cells[6] == "rises_and_sets");
}

TEST_CASE("texts of the sheets cannot become markup of the printed sheet") {
    SheetTexts texts;
    const std::string nasty = "<script>alert(1)</script> \"\"&'";
    texts.settings.replace(texts.settings.find("Two rivers"), 10, "<script>x</script>");
    texts.sites =
        "site,latitude,longitude,nutrient_status,trail,elevation_m,notes\n\"<script>\",1.5,110.3,"
        "rich,\"" +
        nasty + "\",2,\"" + nasty +
        "\"\nS2,1.6,110.3,rich,,,\nS3,1.7,110.3,poor,,,\nS4,1.8,110.3,poor,,,\n";
    texts.deployments = "deployment,site,folder,recorder,start,notes\n\"" + nasty +
                        "\",\"<script>\",recordings/D1,\"" + nasty + "\",2031-05-04 12:00,\"" +
                        nasty + "\"\n";
    const Survey survey = texts.load();
    Lines undated;
    const std::string html = deployment_sheet_html(
        survey, visits_of(survey, date("2031-05-04"), 3, undated), Lines(4, "<b>"));
    CHECK(html.find("<script") == std::string::npos);
    CHECK(html.find("<b>") == html.find("<b>Caution"));
    CHECK(count(html, "<section") == 5);  // the last for the trial
    CHECK(html.find("Never play the calls of animals") > html.rfind("<section"));
    CHECK(count(html, "&lt;script&gt;alert(1)") == 5);
    CHECK((html.find("http:") == std::string::npos &&
           html.find("https:") == std::string::npos));  // nothing is loaded from elsewhere
}

TEST_CASE("the sheet says what the recorder's clock is set to, by name and by offset") {
    const auto clock_said = [](const std::string& clock) {
        SheetTexts texts;
        texts.deployments =
            "deployment,site,folder,start,clock\n"
            "D1,S1,recordings/D1,2031-05-04 12:00," +
            clock + "\n";
        const Survey survey = texts.load();
        Lines undated;
        const std::string html =
            deployment_sheet_html(survey, visits_of(survey, {}, 3, undated), Lines(4, ""));
        const std::string before = "<dt>clock set to</dt><dd>";
        const std::size_t at = html.find(before) + before.size();
        return html.substr(at, html.find("</dd>", at) - at);
    };
    CHECK(clock_said("") == "Asia/Kuching, UTC+08:00");
    CHECK(clock_said("+07:00") == "UTC+07:00");
    CHECK(clock_said("UTC") == "UTC");
    CHECK(clock_said("Z") == "UTC");
}

TEST_CASE("sheet and notice are in the survey's language, and say that nobody has checked it") {
    SheetTexts texts;
    texts.settings.replace(texts.settings.find("time_zone"), 0, "language = \"ms\"\n");
    const Survey survey = texts.load();
    Lines undated;
    const auto visits = visits_of(survey, date("2031-05-04"), 3, undated);
    const std::string html = deployment_sheet_html(survey, visits, Lines(visits.size(), ""));
    CHECK(html.find("<html lang=\"ms\">") != std::string::npos);
    CHECK(html.find("matahari terbit") != std::string::npos);
    CHECK(html.find("sunrise") == std::string::npos);
    CHECK(count(html, "belum disemak") == visits.size() + 1);  // and on the page of the trial
    const std::string notice =
        consent_notice_html(survey, visits, Lines(visits.size(), "10 daripada 60 minit"),
                            Lines(visits.size(), "10 of 60 minutes"));
    CHECK(count(notice, "<section") == 2);  // and in English, for those who put it up
    CHECK(count(notice, "belum disemak") == 1);
    CHECK(count(notice, "<dd>10 daripada 60 minit</dd>") == 1);
    CHECK(count(notice, "<dd>10 of 60 minutes</dd>") == 1);
    CHECK(notice.find("Voices are not what we study") != std::string::npos);
}

TEST_CASE(
    "the notice fills in what the sheets know, leaves lines for the rest, and ticks nothing") {
    SheetTexts texts;
    texts.settings.replace(texts.settings.find("Two rivers"), 10, "<script>x</script>");
    const Survey survey = texts.load();
    Lines undated;
    const auto visits = visits_of(survey, date("2031-05-04"), 3, undated);
    const std::string notice =
        consent_notice_html(survey, visits, Lines(visits.size(), "10 of 60 minutes"), {});
    CHECK(count(notice, "<section") == 1);
    CHECK(notice.find("<script") == std::string::npos);
    CHECK(notice.find("<dt>first day</dt><dd>2031-05-04</dd>") != std::string::npos);
    CHECK(notice.find("<dt>last day</dt><dd>2031-05-06</dd>") != std::string::npos);
    CHECK(notice.find("<dd>10 of 60 minutes</dd>") != std::string::npos);
    // name, organisation, contact, leave, anything else, who listens, where kept, who else
    CHECK(count(notice, "class=\"open\"") == 8);
    CHECK(notice.find(" checked") == std::string::npos);
    CHECK(
        (notice.find("http:") == std::string::npos && notice.find("https:") == std::string::npos));
    // Two schedules: a line to write on, not one of them.
    Lines schedules(visits.size(), "10 of 60 minutes");
    schedules[0] = "all hours";
    CHECK(count(consent_notice_html(survey, visits, schedules, {}), "class=\"open\"") == 9);
}

TEST_CASE("a notice for more places than two lines hold names some and counts the others") {
    SheetTexts texts;
    texts.sites = "site,nutrient_status,latitude,longitude\n";
    for (int i = 1; i <= 12; ++i)
        texts.sites += "amerak-alluvial-" + std::to_string(i) + (i % 2 ? ",rich" : ",poor") +
                       ",1." + std::to_string(10 + i) + ",110.3\n";
    texts.deployments = "deployment,site,folder\n";
    const Survey survey = texts.load();
    Lines undated;
    const auto visits = visits_of(survey, date("2031-05-04"), 3, undated);
    REQUIRE(visits.size() == 12);
    const std::string notice = consent_notice_html(survey, visits, Lines(visits.size(), ""), {});
    CHECK(notice.find("<dd>amerak-alluvial-1, amerak-alluvial-2, amerak-alluvial-3, "
                      "amerak-alluvial-4 and 8 more</dd>") != std::string::npos);
}

TEST_CASE("the deployment sheet as CSV loads as deployments.csv again") {
    SheetTexts texts;
    texts.deployments =
        "deployment,site,folder,recorder,start,end,clock,clock_error_start_s,clock_error_end_s,"
        "gain_db,colour\n"
        "D1,S1,recordings/D1,=R1,2031-05-04 12:00,2031-05-06 12:00,+07:00,-2.5,4,18,\"red, old\"\n";
    const TemporaryFolder folder;
    texts.write(folder);
    const Survey survey = load_survey(folder.path());
    Lines undated;
    std::vector<Visit> visits = visits_of(survey, {}, 3, undated);
    write_deployment_csv(survey, visits, folder.path() / "deployments.csv");
    const Survey again = load_survey(folder.path());
    REQUIRE(again.deployments.size() == 1);
    const Deployment &before = survey.deployments[0], &after = again.deployments[0];
    CHECK(after.recorder == "=R1");
    CHECK(after.clock == "+07:00");
    CHECK(after.clock_error_start_s == -2.5);
    CHECK(after.start == before.start);
    CHECK(after.end == before.end);
    CHECK(after.gain_db == before.gain_db);
    CHECK(again.deployment_columns.size() == known_deployment_columns().size() + 1 + 4);
    CHECK(after.cells[known_deployment_columns().size()] == "red, old");
}

TEST_CASE("same survey, same bytes") {
    const Survey survey = SheetTexts().load();
    Lines undated;
    const auto visits = visits_of(survey, {}, 3, undated);
    const TemporaryFolder folder;
    write_distances(survey, 250, folder.path() / "a.csv");
    write_distances(survey, 250, folder.path() / "b.csv");
    CHECK(text_of(folder.path() / "a.csv") == text_of(folder.path() / "b.csv"));
    CHECK(text_of(folder.path() / "a.csv")
              .starts_with("site_a,site_b,stand_a,stand_b,straight_m,trail,trail_m,near\nS1,S2,"
                           "rich,rich,1572,,,0\n"));
    const Lines schedules(visits.size(), "x");
    CHECK(deployment_sheet_html(survey, visits, schedules) ==
          deployment_sheet_html(survey, visits, schedules));
}

TEST_CASE("a pilot's spread is the residual deviation within classes and blocks, by hand") {
    ContrastPlan plan;
    plan.class_a = "rich";
    plan.class_b = "poor";
    // Within-class sums of squares 2 and 8, four degrees of freedom: sqrt(10 / 4).
    std::vector<Unit> units{{"1", "rich", "", 1},  {"2", "rich", "", 2},  {"3", "rich", "", 3},
                            {"4", "poor", "", 10}, {"5", "poor", "", 12}, {"6", "poor", "", 14}};
    CHECK(pilot_spread(units, plan) == Approx(std::sqrt(2.5)));
    // Pairs with differences 3 and 5 around 4: residuals +-0.5 four times, one degree of freedom.
    units = {{"1", "rich", "x", 13},
             {"2", "poor", "x", 10},
             {"3", "rich", "y", 105},
             {"4", "poor", "y", 100}};
    CHECK(pilot_spread(units, plan) == Approx(1.0));
    units.resize(2);
    CHECK(is_missing(pilot_spread(units, plan)));
}

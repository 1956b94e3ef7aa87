// From rows of a store to site values: which segments count, and where in the day they belong.
#include "aggregate/site_values.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "aggregate/date_cells.h"
#include "aggregate/judged_segments.h"
#include "base/missing.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

namespace {

constexpr std::size_t kK1 = 0, kK2 = 1;

const DateMean* find(const std::vector<DateMean>& rows, std::size_t site, Date date, int part) {
    for (const DateMean& row : rows)
        if (row.site == site && row.date == date && row.part == part) return &row;
    return nullptr;
}

int window(const SiteValues& values, const std::string& name) {
    for (std::size_t i = 0; i < values.windows.size(); ++i)
        if (values.windows[i] == name) return static_cast<int>(i);
    return -1;
}

struct Scene {
    Survey survey;
    TemporaryFolder folder;
    Filler filler;
    explicit Scene(Survey the_survey = four_sites())
        : survey(std::move(the_survey)), filler(survey, folder.path() / "test.db") {}
    SiteValues values() const { return compute_site_values(survey, filler.store()); }
};

std::vector<Named> minutes(std::initializer_list<double> aci) {
    std::vector<Named> list;
    for (const double value : aci) list.push_back({{"aci", value}});
    return list;
}

}  // namespace

TEST_CASE("a segment belongs to the hour of its midpoint") {
    Scene scene;
    // Minutes from 09:58:30: midpoints 09:59:00 and 10:00:00 and 10:01:00.
    scene.filler.add("DK1", "a.wav", "2031-05-04 09:58:30", minutes({1, 2, 4}));
    const SiteValues values = scene.values();
    const auto aci = static_cast<std::size_t>(values.column("aci"));
    const auto* nine = find(values.site_hours, kK1, on("2031-05-04"), 9);
    const auto* ten = find(values.site_hours, kK1, on("2031-05-04"), 10);
    REQUIRE(nine);
    REQUIRE(ten);
    CHECK(nine->values[aci] == 1);
    CHECK(ten->values[aci] == 3);
    CHECK(ten->kept == 2);
    CHECK(values.site_hours.size() == 2);
}

TEST_CASE("a night across midnight and across the year belongs to its evening") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-12-31 23:58:00", minutes({1, 2, 3, 4}));
    const SiteValues values = scene.values();
    const auto aci = static_cast<std::size_t>(values.column("aci"));
    const int night = window(values, "night");
    const auto* row = find(values.site_windows, kK1, on("2031-12-31"), night);
    REQUIRE(row);
    CHECK(row->values[aci] == 2.5);
    CHECK(row->kept == 4);
    CHECK(values.site_windows.size() == 1);
    // Hours keep their own dates.
    CHECK(find(values.site_hours, kK1, on("2031-12-31"), 23)->values[aci] == 1.5);
    CHECK(find(values.site_hours, kK1, on("2032-01-01"), 0)->values[aci] == 3.5);
}

TEST_CASE("an hour that the clock repeats is one hour with more segments") {
    // Europe/Berlin: 2025-10-26, 03:00 summer time becomes 02:00; the hour from 02:00 comes twice.
    Survey survey = four_sites("Europe/Berlin");
    for (Deployment& deployment : survey.deployments) deployment.clock = "UTC";
    Scene scene(survey);
    scene.filler.add("DK1", "a.wav", "2025-10-26 00:30:00", minutes({1}));  // 02:30 summer time
    scene.filler.add("DK1", "b.wav", "2025-10-26 01:30:00", minutes({3}));  // 02:30 again
    scene.filler.add("DK1", "c.wav", "2025-10-26 02:30:00", minutes({9}));  // 03:30
    const SiteValues values = scene.values();
    const auto aci = static_cast<std::size_t>(values.column("aci"));
    const auto* two = find(values.site_hours, kK1, on("2025-10-26"), 2);
    REQUIRE(two);
    CHECK(two->values[aci] == 2);
    CHECK(two->possible == 2);
    CHECK(find(values.site_hours, kK1, on("2025-10-26"), 3)->values[aci] == 9);
}

TEST_CASE("a recorder's clock error moves its segments") {
    Survey survey = four_sites();
    survey.deployments[0].clock_error_start_s = 420;  // seven minutes ahead
    survey.deployments[0].clock_error_end_s = 420;
    survey.deployments[0].start = at("2031-05-01 00:00");
    survey.deployments[0].end = at("2031-05-10 00:00");
    Scene scene(survey);
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:06:00",
                     minutes({1, 5}));  // true: 09:59 and 10:00
    const SiteValues values = scene.values();
    const auto aci = static_cast<std::size_t>(values.column("aci"));
    REQUIRE(find(values.site_hours, kK1, on("2031-05-04"), 9));
    CHECK(find(values.site_hours, kK1, on("2031-05-04"), 9)->values[aci] == 1);
    CHECK(find(values.site_hours, kK1, on("2031-05-04"), 10)->values[aci] == 5);
}

TEST_CASE("only kept, complete segments inside the deployment are averaged") {
    Survey survey = four_sites();
    survey.deployments[0].start = at("2031-05-04 10:02");
    survey.deployments[0].end = at("2031-05-20 00:00");
    Scene scene(survey);
    auto list = minutes({100, 100, 1, 3, 100, 100});
    list[4]["clipped_fraction"] = 0.5;  // clipped excludes
    list[5]["_short"] = 1;
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", list);
    const SiteValues values = scene.values();
    const auto* ten = find(values.site_hours, kK1, on("2031-05-04"), 10);
    REQUIRE(ten);
    CHECK(ten->values[static_cast<std::size_t>(values.column("aci"))] == 2);
    CHECK(ten->kept == 2);
    CHECK(ten->possible ==
          3);  // the clipped one too; not the two before the start, nor the short one
    CHECK(values.segments == 6);
    CHECK(values.kept == 2);
}

TEST_CASE("a clock that lost its time is never averaged, whatever else outside the dates is") {
    Survey survey = four_sites();
    survey.deployments[0].start = at("2031-05-04 00:00");
    survey.deployments[0].end = at("2031-05-20 00:00");
    survey.screen.outside_excludes = false;
    Scene scene(survey);
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1}));
    scene.filler.add("DK1", "early.wav", "2031-05-03 10:00:00", minutes({3}));
    scene.filler.add("DK1", "reset.wav", "2000-01-01 10:00:00", minutes({100}));
    const SiteValues values = scene.values();
    CHECK(values.segments == 3);
    CHECK(values.kept == 2);
    CHECK(site_value(values.hours, kK1, 10, values.column("aci")) == 2);
}

TEST_CASE("channels and recorders of a site are averaged first") {
    Survey survey = four_sites();
    Deployment second = survey.deployments[0];
    second.name = "DK1b";
    survey.deployments.push_back(second);
    Scene scene(survey);
    scene.filler.add(scene.filler.row("DK1", "a.wav", "2031-05-04 10:00:00", 2),
                     {minutes({1, 3}), minutes({5, 7})});                     // channels: 2 and 6
    scene.filler.add("DK1b", "b.wav", "2031-05-04 10:00:00", minutes({10}));  // 10
    const SiteValues values = scene.values();
    const auto* ten = find(values.site_hours, kK1, on("2031-05-04"), 10);
    REQUIRE(ten);
    CHECK(ten->values[static_cast<std::size_t>(values.column("aci"))] == 6);  // (2 + 6 + 10) / 3
    CHECK(ten->kept == 5);
}

TEST_CASE("a copy of a recording counts once") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1, 3}));
    scene.filler.add("DK1", "copy/a.wav", "2031-05-04 10:00:00", minutes({1, 3}));
    const SiteValues values = scene.values();
    CHECK(values.segments == 2);
    CHECK(find(values.site_hours, kK1, on("2031-05-04"), 10)->possible == 2);
}

TEST_CASE("a site's value is what it would show on all dates, looked up by site and part") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1, 1, 1}));
    scene.filler.add("DK1", "b.wav", "2031-05-05 10:00:00", minutes({5}));
    scene.filler.add("DK2", "c.wav", "2031-05-05 10:00:00", minutes({8}));
    const SiteValues values = scene.values();
    const int aci = values.column("aci");
    const int day = window(values, "day");
    for (const auto& [means, part] :
         {std::pair(&values.hours, 10), std::pair(&values.window_means, day)}) {
        CHECK(site_value(*means, kK1, part, aci) == 3);
        // 3 more than K1 on the date they share; its own plain mean is 8.
        CHECK(site_value(*means, kK2, part, aci) == Approx(6));
    }
    CHECK(is_missing(site_value(values.window_means, 2, day, aci)));
    CHECK(is_missing(site_value(values.hours, kK1, 11, aci)));
    CHECK(values.column("no such index") == -1);
}

namespace {

/// A morning at all four sites on three dates, one minute a quarter of an hour: a level of the
/// site, a chorus that swells towards 07:00, and dates of their own. `leave_out` says what is not
/// there.
template <class LeaveOut>
SiteValues mornings(LeaveOut leave_out) {
    Scene scene;
    const char* const names[] = {"DK1", "DK2", "DH1", "DH2"};
    const double levels[] = {51, 52, 48, 47};
    for (int site = 0; site < 4; ++site)
        for (int date = 4; date <= 6; ++date)
            for (int quarter = 0; quarter < 10; ++quarter) {
                if (leave_out(site, date, quarter)) continue;
                const int minute = 6 * 60 + quarter * 15 + 5;
                const std::string start =
                    "2031-05-0" + std::to_string(date) + " 0" + std::to_string(minute / 60) + ":" +
                    (minute % 60 < 10 ? "0" : "") + std::to_string(minute % 60) + ":00";
                const double chorus = 40 * std::exp(-0.3 * (quarter - 3) * (quarter - 3));
                scene.filler.add(names[site], start + ".wav", start,
                                 minutes({levels[site] + chorus + date}));
            }
    return scene.values();
}

}  // namespace

TEST_CASE(
    "minutes that one class lacks, and nights of a few minutes, do not move its sites' values") {
    const auto all = [](int, int, int) { return false; };
    const auto gaps = [](int site, int date, int quarter) {
        if (site < 2 && (quarter == 2 || quarter == 3 || quarter == 5)) return true;
        return site == 1 && date == 5 && quarter > 0;  // one quarter of its second morning
    };
    const SiteValues whole = mornings(all), part = mornings(gaps);
    const int aci = whole.column("aci"), dawn = window(whole, "dawn");
    const auto mean_of_dates = [&](std::size_t site) {
        return site_value(means_over_dates(part.site_windows), site, dawn, aci);
    };
    for (std::size_t site = 0; site < 4; ++site) {
        const double value = site_value(whole.window_means, site, dawn, aci);
        INFO(site << ": " << value << ", plain mean " << mean_of_dates(site));
        CHECK(site_value(part.window_means, site, dawn, aci) == Approx(value).epsilon(1e-12));
        // The plain mean of dates, which the values used to be, is off by several units.
        if (site < 2) CHECK(std::abs(mean_of_dates(site) - value) > 4);
    }
    for (const SiteMean& mean : whole.window_means) CHECK(mean.leans == 1);
    for (const SiteMean& mean : part.window_means) {
        if (mean.part != dawn) continue;
        CHECK(mean.leans > 1);
        // The one with the short night leans most.
        if (mean.site == 1) CHECK(mean.leans > 2);
        if (mean.site != 1) CHECK(mean.leans < 1.6);
    }
}

TEST_CASE("a site on dates of its own, or never in a window with others, has no value") {
    const SiteValues values =
        mornings([](int site, int date, int) { return (site == 3) != (date == 6); });
    const int aci = values.column("aci"), dawn = window(values, "dawn");
    CHECK(std::isfinite(site_value(values.window_means, 0, dawn, aci)));
    CHECK(is_missing(site_value(values.window_means, 3, dawn, aci)));
    for (const SiteMean& mean : values.window_means) CHECK(mean.comparable == (mean.site != 3));
}

TEST_CASE(
    "seasons that deployments.csv names have site values of their own, the earlier one first") {
    Survey survey = four_sites();
    survey.deployment_columns.push_back("season");
    for (std::size_t d = 0; d < 4; ++d) {
        Deployment later = survey.deployments[d];
        survey.deployments[d].cells.push_back("wet");
        later.name += "b";
        later.cells.push_back("dry");
        survey.deployments.push_back(later);
    }
    Scene scene(survey);
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1}));
    scene.filler.add("DK2", "b.wav", "2031-05-04 10:00:00", minutes({2}));
    scene.filler.add("DK1b", "c.wav", "2031-09-04 10:00:00", minutes({10}));
    scene.filler.add("DH1b", "d.wav", "2031-09-04 10:00:00", minutes({30}));
    const SiteValues values = scene.values();
    const int aci = values.column("aci"), day = window(values, "day");
    REQUIRE(values.seasons.size() == 2);
    CHECK(values.seasons[0].name == "wet");
    CHECK(site_value(values.seasons[0].window_means, kK1, day, aci) == 1);
    CHECK(site_value(values.seasons[0].window_means, kK2, day, aci) == 2);
    CHECK(is_missing(site_value(values.seasons[0].window_means, 2, day, aci)));
    CHECK(site_value(values.seasons[1].window_means, kK1, day, aci) == 10);
    CHECK(site_value(values.seasons[1].window_means, 2, day, aci) == 30);
    // Together: every site on both dates, by the site that was there both times.
    CHECK(site_value(values.window_means, kK1, day, aci) == Approx(5.5));
    CHECK(site_value(values.window_means, kK2, day, aci) == Approx(6.5));

    for (Deployment& deployment : scene.survey.deployments) deployment.cells.back() = "wet";
    CHECK(scene.values().seasons.empty());
}

TEST_CASE("steps from sunrise are five minutes wide and begin before it") {
    Scene scene;
    const DayParts days(scene.survey);
    const Instant sunrise = *days.sun(kK1, on("2031-05-04")).sunrise;
    const auto wall = days.zone().to_local(sunrise).time;
    // Midpoints 6.5 and 5.5, 4.5 ... minutes before sunrise.
    RecordingRow row = scene.filler.row("DK1", "a.wav", "2031-05-04 05:00:00", 8);
    row.start = wall - std::chrono::minutes(7);
    scene.filler.add(row, {minutes({1, 1, 2, 2, 2, 2, 2, 9})});
    const SiteValues values = scene.values();
    const auto aci = static_cast<std::size_t>(values.column("aci"));
    REQUIRE(values.site_steps.size() == 3);
    CHECK(values.site_steps[0].part == -2);
    CHECK(values.site_steps[0].values[aci] == 1);
    CHECK(values.site_steps[1].part == -1);
    CHECK(values.site_steps[1].values[aci] == 2);
    CHECK(values.site_steps[2].part == 0);
    CHECK(values.site_steps[2].values[aci] == 9);
}

TEST_CASE("results of other settings are refused with what differs and what to run") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1}));
    scene.survey.measure.frame = 1024;
    try {
        scene.values();
        FAIL("not refused");
    } catch (const InputError& error) {
        const std::string line = one_line(error.problems().front());
        CHECK(line.find("frame") != std::string::npos);
        CHECK(line.find("1024") != std::string::npos);
        CHECK(line.find("hearwood measure") != std::string::npos);
    }
}

TEST_CASE("results of another pattern of names are refused") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1}));
    scene.survey.start_time_pattern = "{Y}{M}{D}";
    CHECK_THROWS_AS(scene.values(), InputError);
}

TEST_CASE("sites at different sample rates are told apart") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1}));
    CHECK(mixed_sample_rates(scene.survey, scene.values()).empty());
    RecordingRow row = scene.filler.row("DH1", "b.wav", "2031-05-04 10:00:00", 1);
    row.sample_rate = 48000;
    scene.filler.add(row, {minutes({1})});
    const auto findings = mixed_sample_rates(scene.survey, scene.values());
    CHECK(lowest_rate_of(scene.values()) == 24000);
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].what.find("24000 Hz at K1; 48000 Hz at H1") != std::string::npos);
    // A class that is not compared does not matter.
    scene.survey.sites[2].stand = "swamp";
    CHECK(mixed_sample_rates(scene.survey, scene.values()).empty());
}

TEST_CASE("sites whose weather is unknown on most segments are told of") {
    Scene scene;
    const Named dry{{"rain_score", -3}, {"engine_score", -3}};
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", {{}, {}, dry});
    scene.filler.add("DK2", "b.wav", "2031-05-04 10:00:00", {{}, dry});  // half is not most
    const std::vector<Finding> questions = questions_of_screens(scene.survey, scene.values());
    REQUIRE(questions.size() == 1);
    CHECK(questions[0].code == FindingCode::weather_unknown);
    CHECK(questions[0].subject == Subject::site("K1"));
    CHECK(questions[0].what.find("2 of 3 segments") != std::string::npos);
    CHECK(questions[0].severity == Severity::doubt);
}

TEST_CASE("calibrated levels appear with a calibrated recorder only") {
    Scene plain;
    plain.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", minutes({1}));
    for (const Column& column : plain.values().columns)
        CHECK(column.name.find("dbspl") == std::string::npos);

    Survey survey = four_sites();
    survey.deployments[0].full_scale_db_spl = 94;
    Scene scene(survey);
    scene.filler.add("DK1", "a.wav", "2031-05-04 10:00:00", {{{"leq_dbfs", -50}}});
    scene.filler.add("DK2", "b.wav", "2031-05-04 10:00:00", {{{"leq_dbfs", -50}}});
    const SiteValues values = scene.values();
    const int twin = values.column("leq_dbspl");
    REQUIRE(twin == values.column("leq_dbfs") + 1);
    CHECK(site_value(values.hours, kK1, 10, twin) == 44);
    CHECK(is_missing(site_value(values.hours, kK2, 10, twin)));
    CHECK(values.columns[static_cast<std::size_t>(twin)].unit == "dB re 20 uPa");
}

TEST_CASE("a site's background is the median over its kept segments, whatever the window") {
    Scene scene;
    const auto minute = [](double db) { return std::vector<Named>{{{"_background", db}}}; };
    scene.filler.add("DK1", "a.wav", "2031-05-04 13:00:00", minute(-70));
    scene.filler.add("DK1", "b.wav", "2031-05-05 05:00:00", minute(-60.5));
    scene.filler.add("DK1", "c.wav", "2031-05-06 23:00:00", minute(-64));
    scene.filler.add("DK2", "d.wav", "2031-05-04 13:00:00", minute(-50));
    scene.filler.add("DK2", "e.wav", "2031-05-04 14:00:00", minute(-55));
    const SiteValues values = scene.values();
    REQUIRE(values.background_db.size() == 4);
    REQUIRE(values.background_db[kK1].size() == 2);
    CHECK(values.background_db[kK1][0] == -64);
    CHECK(is_missing(values.background_db[kK1][1]));
    CHECK(values.background_db[kK2][0] == -52.5);
    CHECK(values.background_db[2].empty());
}

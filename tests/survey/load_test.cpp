// What a loaded survey holds, and how tolerant its reading is. Refusals: settings_test.cpp,
// sites_test.cpp, deployments_test.cpp.
#include <catch2/catch.hpp>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;

TEST_CASE("a survey in order loads without a word") {
    const Survey survey = SheetTexts().load();
    CHECK(survey.warnings.empty());
    CHECK(survey.title == "Two rivers");
    CHECK(survey.time_zone == "Asia/Kuching");
    CHECK(survey.stands.class_a == "rich");
    CHECK(survey.measure == MeasureSettings{});
    CHECK(survey.screen == ScreenSettings{});
    REQUIRE(survey.windows.size() == 4);
    CHECK(survey.windows[0].name == "dawn");
    REQUIRE(survey.sites.size() == 4);
    CHECK(survey.sites[2].name == "S3");
    CHECK(survey.sites[2].latitude == 1.52);
    CHECK(survey.sites[2].stand == "poor");
    REQUIRE(survey.deployments.size() == 4);
    CHECK(survey.deployments[3].site == 3);
    CHECK(survey.deployments[3].folder == "recordings/D4");
    CHECK(survey.deployments[3].clock == "Asia/Kuching");
    CHECK(format_local(*survey.deployments[3].end) == "2031-05-06T12:00:00");
}

TEST_CASE("sheets from a spreadsheet with decimal commas give the same numbers") {
    SheetTexts texts;
    texts.sites =
        "\xEF\xBB\xBFsite;latitude;longitude;nutrient_status;root_mat_cm;soil_ph;;\r\n\r\n"
        "S1;1,50;110,30;rich;2,5;4,1;;\r\nS2;1,51;110,31;rich;;4,3;;\r\n"
        "S3;1,52;110,32;poor;NA;3,9;;\r\nS4;1,53;110,33;poor;12;3,8;;\r\n";
    const Survey survey = texts.load();
    CHECK(survey.warnings.empty());
    CHECK(survey.sites[1].longitude == 110.31);
    CHECK(number_in(survey.sites[0], survey, "root_mat_cm") == 2.5);
    CHECK(number_in(survey.sites[3], survey, "soil_ph") == 3.8);
    CHECK(number_in(survey.sites[1], survey, "root_mat_cm") == std::nullopt);
    CHECK(number_in(survey.sites[2], survey, "root_mat_cm") == std::nullopt);
    CHECK(number_in(survey.sites[2], survey, "nutrient_status") == std::nullopt);
    CHECK(number_in(survey.sites[2], survey, "no_such_column") == std::nullopt);
    CHECK(survey.sites[0].cells[5] == "4.1");
}

TEST_CASE("every key of survey.toml arrives where it belongs") {
    SheetTexts texts;
    texts.sites =
        "site,latitude,longitude,nutrient_status,river\nS1,1.5,110.3,rich,Long\nS2,1.51,110.31,"
        "rich,Long\n"
        "S3,1.52,110.32,poor,Long\nS4,1.53,110.33,poor,Long\n";
    texts.settings +=
        "block = \"river\"\nlistening_distance_m = 300\n"
        "[measure]\nsegment_s = 30\nframe = 1024\nhop = 512\nrange_hz = [150, 11000.5]\nstep_s = "
        "2.5\n"
        "anthrophony_hz = [900, 1900]\nbiophony_hz = [1900, 9000]\n"
        "[bands]\nzulu = [4000, 12000]\nalpha = [100, 400]\n"
        "[windows]\nfrogs = { from = \"19:00\", to = \"sunset+180min\" }\ndusk = { from = "
        "\"sunset-30min\", to = "
        "\"sunset+30min\" }\nlate = { from = 22:00:00, to = 04:00:00 }\nday = false\n"
        "[screen]\nrain_excludes = false\nrain_score = 1\n"
        "[contrast]\nprimary = { index = \"aci\", window = \"late\" }\nseed = 77\nlevel = 0.9\n"
        "[names]\nstart_time = \"*_%Y%m%d_%H%M%S\"\n";
    const Survey survey = texts.load();
    CHECK(survey.warnings.empty());
    CHECK(survey.stands.block == "river");
    CHECK(survey.stands.listening_distance_m == 300);
    CHECK(survey.sites[0].block == "Long");
    const MeasureSettings expected{30,
                                   1024,
                                   512,
                                   150,
                                   11000.5,
                                   2.5,
                                   {"anthrophony", 900, 1900},
                                   {"biophony", 1900, 9000},
                                   {{"zulu", 4000, 12000}, {"alpha", 100, 400}}};
    CHECK(survey.measure == expected);
    using Anchor = WindowEdge::Anchor;
    const std::vector<Window> windows{{"frogs", {Anchor::clock, 1140}, {Anchor::sunset, 180}},
                                      {"late", {Anchor::clock, 1320}, {Anchor::clock, 240}},
                                      {"dawn", {Anchor::sunrise, -60}, {Anchor::sunrise, 120}},
                                      {"dusk", {Anchor::sunset, -30}, {Anchor::sunset, 30}},
                                      {"night", {Anchor::sunset, 0}, {Anchor::sunrise, 0}}};
    CHECK(survey.windows == windows);
    CHECK_FALSE(survey.screen.rain_excludes);
    CHECK(survey.screen.rain_score == 1);
    CHECK(survey.contrast.primary_window == "late");
    CHECK(survey.contrast.seed == 77);
    CHECK(survey.contrast.level == 0.9);
    CHECK(survey.start_time_pattern == "*_%Y%m%d_%H%M%S");
}

TEST_CASE("a frame of another length brings the hop along") {
    SheetTexts texts;
    texts.settings += "[measure]\nframe = 2048\n";
    CHECK(texts.load().measure.hop == 2048);
}

TEST_CASE("every column of deployments.csv arrives where it belongs") {
    SheetTexts texts;
    texts.deployments =
        "deployment,site,folder,recorder,start,end,clock,clock_error_start_s,clock_error_end_s,"
        "gain_db,height_m,"
        "full_scale_db_spl,expected_minutes_per_hour,notes,battery_v\n"
        "D1,S1,./recordings//D1/,R1,2031-05-04T12:00,2031-05-06 "
        "12:00:30,UTC,-2,7.5,18,1.5,114,10,\"leaning, wet\",6.1\n";
    const Survey survey = texts.load();
    const Deployment& made = survey.deployments.at(0);
    CHECK(made.folder == "recordings/D1");
    CHECK(made.clock == "UTC");
    CHECK(made.clock_error_start_s == -2);
    CHECK(made.clock_error_end_s == 7.5);
    CHECK(made.gain_db == 18);
    CHECK(made.height_m == 1.5);
    CHECK(made.full_scale_db_spl == 114);
    CHECK(made.expected_minutes_per_hour == 10);
    CHECK(made.line == 2);
    CHECK(number_in(made, survey, "battery_v") == 6.1);
    CHECK(format_local(*made.end) == "2031-05-06T12:00:30");
    CHECK(texts.problems() == Lines{"deployments.csv: warning: no deployment at S2, S3, S4; such "
                                    "sites have no values; add a row once a recorder is out"});
}

TEST_CASE("a folder that is no survey is told as such") {
    const TemporaryFolder folder;
    const auto first_problem = [](const std::filesystem::path& path) -> std::string {
        try {
            load_survey(path);
        } catch (const InputError& error) {
            CHECK(error.problems().size() == 1);
            return error.problems()[0].what + "; " + error.problems()[0].fix;
        }
        return "";
    };
    CHECK(first_problem(folder.path() / "none") ==
          "there is no such folder; name a survey's folder, or make one with: hearwood init DIR");
    CHECK(first_problem(folder.path()) ==
          "this is no survey: neither survey.toml nor sites.csv nor deployments.csv is in it; "
          "name a survey's folder, or make one with: hearwood init DIR");
}

TEST_CASE("problems of all three sheets are shown at once") {
    SheetTexts texts;
    texts.settings += "[measure]\nfrme = 512\n";
    texts.sites += "S1,99,110.3,rich\n";
    texts.deployments += "D5,S9,recordings/D5,,,\n";
    CHECK(texts.problems() ==
          Lines{"survey.toml:8:8 ([measure] frme) '512': [measure] has no key 'frme'; did you mean "
                "'frame'?",
                "sites.csv:6:2 (latitude) '99': latitude runs from -90 to 90; check for swapped "
                "columns and a lost decimal mark",
                "sites.csv:6:1 (site) 'S1': line 2 already describes this site; one row a site; "
                "further recorders of a site go "
                "into deployments.csv",
                "deployments.csv:6:2 (site) 'S9': sites.csv has no such site; did you mean 'S1'?"});
}

TEST_CASE("the sheets cut at every length load or are refused, never more") {
    const SheetTexts whole;
    for (std::size_t length = 0; length <= whole.settings.size(); ++length) {
        SheetTexts cut = whole;
        cut.settings.resize(length);
        CHECK((cut.problems().empty() == (length >= whole.settings.size() - 1)));
    }
    for (std::size_t length = 0; length <= whole.deployments.size(); ++length) {
        SheetTexts cut = whole;
        cut.deployments.resize(length);
        CHECK_NOTHROW(cut.problems());
    }
}

// Every refusal and warning of deployments.csv, word by word.
#include <catch2/catch.hpp>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;

namespace {

const std::string kDeploymentsHeader =
    "deployment,site,folder,recorder,start,end,clock,clock_error_start_s,clock_error_end_s,gain_"
    "db\n"
    "D1,S1,recordings/D1,R1,2031-05-04 12:00,2031-05-06 12:00,,,,\n"
    "D2,S2,recordings/D2,R2,2031-05-04 12:00,2031-05-06 12:00,,,,\n"
    "D3,S3,recordings/D3,R3,2031-05-04 12:00,2031-05-06 12:00,,,,\n"
    "D4,S4,recordings/D4,R4,2031-05-04 12:00,2031-05-06 12:00,,,,\n";

/// Problems when this row stands fifth, in line 6.
Lines with_deployment(const std::string& row, const std::string& zone = "Asia/Kuching") {
    SheetTexts texts;
    texts.settings.replace(texts.settings.find("Asia/Kuching"), 12, zone);
    texts.deployments = kDeploymentsHeader + row + "\n";
    Lines lines = texts.problems();
    if (zone != "Asia/Kuching")
        std::erase_if(lines, [](const std::string& line) { return line.starts_with("sites.csv"); });
    return lines;
}

Lines deployments_alone(const std::string& sheet) {
    SheetTexts texts;
    texts.deployments = sheet;
    return texts.problems();
}

}  // namespace

TEST_CASE("a fifth deployment in order") {
    CHECK(with_deployment(
              "D5,S1,recordings/D5,R1,2031-05-06 12:00,2031-05-08 12:00,+07:00,-3,4,12") ==
          Lines{});
    CHECK(with_deployment("D5,S1,recordings/D5,,,,,,,") == Lines{});
}

TEST_CASE("names and sites that cannot be") {
    CHECK(with_deployment("D1,S1,recordings/D5,,,,,,,") ==
          Lines{"deployments.csv:6:1 (deployment) 'D1': line 2 already has this name; give every "
                "deployment its own name"});
    CHECK(with_deployment(",S1,recordings/D5,,,,,,,") ==
          Lines{"deployments.csv:6:1 (deployment): this field is empty; write a name"});
    CHECK(with_deployment("D5,s1,recordings/D5,,,,,,,") ==
          Lines{"deployments.csv:6:2 (site) 's1': sites.csv has no such site; did you mean 'S1'?"});
    CHECK(with_deployment("D5,hilltop,recordings/D5,,,,,,,") ==
          Lines{"deployments.csv:6:2 (site) 'hilltop': sites.csv has no such site; add it there or "
                "correct the name"});
}

TEST_CASE("folders that leave the survey, or belong to another row") {
    const std::string fix = "; name a folder inside the survey folder, such as recordings/D5";
    CHECK(with_deployment("D5,S1,/media/card,,,,,,,") ==
          Lines{"deployments.csv:6:3 (folder) '/media/card': a folder outside the survey folder" +
                fix});
    CHECK(
        with_deployment("D5,S1,C:/card,,,,,,,") ==
        Lines{"deployments.csv:6:3 (folder) 'C:/card': a folder outside the survey folder" + fix});
    CHECK(with_deployment("D5,S1,recordings/../../x,,,,,,,") ==
          Lines{"deployments.csv:6:3 (folder) 'recordings/../../x': '..' could leave the survey "
                "folder" +
                fix});
    CHECK(with_deployment("D5,S1,recordings\\D5,,,,,,,") ==
          Lines{"deployments.csv:6:3 (folder) 'recordings\\D5': a backslash: parts of a folder are "
                "separated by /" +
                fix});
    for (const std::string own : {".", "./", "hearwood", "hearwood/tables"})
        CHECK(with_deployment("D5,S1," + own + ",,,,,,,") ==
              Lines{"deployments.csv:6:3 (folder) '" + own +
                    "': this folder holds the survey's own files" + fix});
    const std::string own =
        "; give every deployment a folder of its own, or its recordings count twice";
    CHECK(with_deployment("D5,S1,recordings/D1/,,,,,,,") ==
          Lines{"deployments.csv:6:3 (folder) 'recordings/D1/': line 2 has the same folder" + own});
    CHECK(with_deployment("D5,S1,recordings/D1/b,,,,,,,") ==
          Lines{"deployments.csv:6:3 (folder) 'recordings/D1/b': it lies in the folder of line 2" +
                own});
    CHECK(
        with_deployment("D5,S1,recordings,,,,,,,") ==
        Lines{"deployments.csv:6:3 (folder) 'recordings': the folder of line 2 lies in it" + own});
}

TEST_CASE("a folder that leaves the survey by a symbolic link is refused, one inside is not") {
    SheetTexts texts;
    const TemporaryFolder survey, elsewhere;
    texts.write(survey);
    std::filesystem::create_directory(survey.path() / "disk");
    std::filesystem::create_directory_symlink(survey.path() / "disk", survey.path() / "recordings");
    CHECK_NOTHROW(load_survey(survey.path()));
    std::filesystem::remove(survey.path() / "recordings");
    std::filesystem::create_directory_symlink(elsewhere.path(), survey.path() / "recordings");
    try {
        load_survey(survey.path());
        FAIL("nothing was refused");
    } catch (const InputError& error) {
        REQUIRE(error.problems().size() == 4);
        CHECK(one_line(error.problems()[0]) ==
              "deployments.csv:2:3 (folder) 'recordings/D1': a symbolic link leads out of the "
              "survey folder; name a folder inside the survey folder, such as recordings/D1");
    }
}

TEST_CASE("times that cannot be") {
    const std::string fix =
        "; write it as 2031-05-04 17:30, without a zone; format the spreadsheet's column as text";
    CHECK(with_deployment("D5,S1,recordings/D5,,04/05/2031 12:00,,,,,") ==
          Lines{"deployments.csv:6:5 (start) '04/05/2031 12:00': not a date and time of the local "
                "clock" +
                fix});
    CHECK(with_deployment("D5,S1,recordings/D5,,2031-05-04,,,,,") ==
          Lines{"deployments.csv:6:5 (start) '2031-05-04': the time of day is not there" + fix});
    CHECK(
        with_deployment("D5,S1,recordings/D5,,,2031-02-29 12:00,,,,") ==
        Lines{
            "deployments.csv:6:6 (end) '2031-02-29 12:00': not a date and time of the local clock" +
            fix});
    CHECK(with_deployment("D5,S1,recordings/D5,,2031-05-04 12:00,2031-05-04 12:00,,,,") ==
          Lines{"deployments.csv:6:6 (end) '2031-05-04 12:00': ends before it starts (2031-05-04 "
                "12:00); check year, month and day; "
                "swapped fields are the usual cause"});
    CHECK(with_deployment("D5,S1,recordings/D5,,2031-05-04 12:00,2032-05-06 12:00,,,,") ==
          Lines{"deployments.csv:6:6 (end) '2032-05-06 12:00': warning: more than a year after the "
                "start; check the years"});
}

TEST_CASE("times that the clock skipped or showed twice") {
    CHECK(with_deployment("D5,S1,recordings/D5,,2031-03-30 02:30,,,,,", "Europe/Vienna") ==
          Lines{"deployments.csv:6:5 (start) '2031-03-30 02:30': the clock of Europe/Vienna jumped "
                "over this time; look up what the "
                "clock showed"});
    CHECK(with_deployment("D5,S1,recordings/D5,,2031-10-26 02:30,,,,,", "Europe/Vienna") ==
          Lines{"deployments.csv:6:5 (start) '2031-10-26 02:30': warning: the clock of "
                "Europe/Vienna showed this time twice, and the "
                "first is taken; if it was the second, write the time an hour later"});
}

TEST_CASE("one recorder is in one place at a time") {
    CHECK(with_deployment("D5,S2,recordings/D5,R1,2031-05-06 11:59,2031-05-08 12:00,,,,") ==
          Lines{"deployments.csv:6:4 (recorder) 'R1': this recorder was out in deployment 'D1' "
                "(line 2) from 2031-05-04T12:00:00 to "
                "2031-05-06T12:00:00; a recorder is in one place at a time: correct the times or "
                "the recorder"});
    CHECK(with_deployment("D5,S2,recordings/D5,R1,2031-05-03 12:00,2031-05-04 12:01,,,,").size() ==
          1);
    CHECK(with_deployment("D5,S2,recordings/D5,R1,2031-05-03 12:00,2031-05-08 12:00,,,,").size() ==
          1);
    CHECK(with_deployment("D5,S2,recordings/D5,R1,2031-05-05 00:00,2031-05-05 12:00,,,,").size() ==
          1);
    CHECK(with_deployment("D5,S2,recordings/D5,R1,2031-05-03 12:00,2031-05-04 12:00,,,,") ==
          Lines{});
}

TEST_CASE("clocks that cannot be, or are doubtful") {
    CHECK(with_deployment("D5,S1,recordings/D5,,,,Kuching,,,") ==
          Lines{"deployments.csv:6:7 (clock) 'Kuching': this machine knows no such time zone; "
                "write an IANA name such as Asia/Kuching, "
                "UTC, or an offset such as +08:00"});
    CHECK(with_deployment("D5,S1,recordings/D5,,,,,00:07:00,,") ==
          Lines{"deployments.csv:6:8 (clock_error_start_s) '00:07:00': not a number; write the "
                "number alone, without a unit; leave it "
                "empty when unknown"});
    CHECK(with_deployment("D5,S1,recordings/D5,,,,,90000,,") ==
          Lines{"deployments.csv:6:8 (clock_error_start_s) '90000': warning: the clock was off by "
                "more than a day; check the sign and "
                "the unit: seconds, recorder minus true time"});
    CHECK(
        with_deployment("D5,S1,recordings/D5,,,,,3,4,") ==
        Lines{"deployments.csv:6:9 (clock_error_end_s) '4': clock errors need start and end times; "
              "fill start and end, when the checks were made"});
}

TEST_CASE("numbers out of their range") {
    CHECK(with_deployment("D5,S1,recordings/D5,,,,,,,300") ==
          Lines{"deployments.csv:6:10 (gain_db) '300': gain_db runs from -100 to 200; check the "
                "value and its unit (dB)"});
    // A clock set back to 1970 is off by decades; by more than a century is none.
    CHECK(with_deployment("D5,S1,recordings/D5,,,,,1.9e9,,").size() == 1);
    CHECK(with_deployment("D5,S1,recordings/D5,,,,,-1e300,,").at(0) ==
          "deployments.csv:6:8 (clock_error_start_s) '-1e300': clock_error_start_s runs from "
          "-3155760000 to 3155760000; check the value and its unit (s)");
}

TEST_CASE("columns that are not there, or look like a slip") {
    CHECK(deployments_alone("deployment,site\nD1,S1\n") ==
          Lines{"deployments.csv:1: there is no column 'folder', which says where the recordings "
                "are; add the column; the header has "
                "deployment, site"});
    CHECK(deployments_alone("deployment,site,folder,gain\nD1,S1,recordings/D1,3\n").at(0) ==
          "deployments.csv: warning: no deployment at S2, S3, S4; such sites have no values; add "
          "a row once a recorder is out");
    CHECK(deployments_alone("deployment,site,folder,gain_dB\nD1,S1,recordings/D1,3\n").at(0) ==
          "deployments.csv:1:4 'gain_dB': warning: a column of the survey's own; if 'gain_db' was "
          "meant, rename it");
}

TEST_CASE("a hundred thousand rows are read in a moment") {
    SheetTexts texts;
    texts.deployments = "deployment,site,folder,recorder,start,end\n";
    for (int i = 0; i < 100'000; ++i)
        texts.deployments += "D" + std::to_string(i) + ",S1,recordings/D" + std::to_string(i) +
                             ",R1,2031-05-04 12:00,2031-05-06 12:00\n";
    CHECK(texts.problems().size() == 99'999);  // all but the first overlap
}

TEST_CASE("hours of a schedule") {
    const auto stretches = [](const char* text) {
        std::string all;
        const auto parsed = parse_scheduled_hours(text);
        if (!parsed) return std::string("none");
        for (const ScheduledHours& s : *parsed)
            all += std::to_string(s.from) + "-" + std::to_string(s.to) + " ";
        return all + std::to_string(scheduled_minutes(*parsed));
    };
    CHECK(stretches("16:30-08:00") == "990-480 930");
    CHECK(stretches("5:00-8:00 17:00-20:00") == "300-480 1020-1200 360");
    CHECK(stretches("05:00-08:00, 17:00 - 20:00") == "none");
    CHECK(stretches("05:00-08:00; 20:00-24:00") == "300-480 1200-1440 420");
    CHECK(stretches("20:00-0:00") == "1200-1440 240");
    for (const char* bad : {"", "5-8", "05:00", "05:00-05:00", "05:00-08:00 07:00-09:00",
                            "22:00-04:00 03:00-05:00", "25:00-26:00", "a-b", "24:00-05:00"})
        CHECK(stretches(bad) == "none");
    CHECK(scheduled_minutes({}) == 1440);
    SheetTexts texts;
    texts.deployments =
        "deployment,site,folder,start,hours\nD1,S1,recordings/D1,2031-05-04 9:05,16:30-08:00\n"
        "D2,S2,recordings/D2,,dusk\n";
    CHECK(
        texts.problems() ==
        std::vector<std::string>{
            "deployments.csv:3:5 (hours) 'dusk': not the hours of a schedule; write them as "
            "16:30-08:00 or 05:00-08:00 17:00-20:00, none of them twice; leave the field empty for "
            "all day"});
    texts.deployments =
        "deployment,site,folder,start,hours\nD1,S1,recordings/D1,2031-05-04 9:05,16:30-08:00\n";
    CHECK(texts.load().deployments[0].start == local("2031-05-04 09:05"));
}

// decisions.csv: what is understood, what is refused, and what a swapped card makes of the sheet.
#include "survey/decisions.h"

#include <catch2/catch.hpp>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;
using Kind = Decision::Kind;

namespace {

constexpr const char* kDecisionsHeader = "date,decision,subject,from,to,value,reason,by\n";

SheetTexts with(const std::string& rows) {
    SheetTexts texts;
    texts.decisions = kDecisionsHeader + rows;
    return texts;
}

Lines refused_rows(const std::string& rows) {
    return with(rows).problems();
}

}  // namespace

TEST_CASE("a survey without decisions, or with none yet, has none") {
    CHECK(SheetTexts().load().decisions.empty());
    CHECK(with("").load().decisions.empty());
    CHECK(with(",,,,,,,\n\n").load().decisions.empty());
}

TEST_CASE("each decision is read with its subject") {
    const Survey survey =
        with(
            "2031-05-20,leave_out,S2,2031-05-04 18:00,2031-05-05 6:00,,chainsaws,A\n"
            ",leave_out,D3,,2031-05-05,,microphone torn off,\n"
            ",leave_out,recordings/D1/x y.wav,,,,voices,\n"
            ",clock,D1,,,2031-05-04 12:10,heard the noon call,\n"
            ",clock,D1,b.wav,,2031-05-05 08:00,battery changed,\n"
            ",belongs_to,D2,,,D4,cards were swapped,\n"
            ",keep,S4,,,rain,a waterfall,\n")
            .load();
    REQUIRE(survey.decisions.size() == 7);
    const Decision& night = survey.decisions[0];
    CHECK(night.kind == Kind::leave_out);
    CHECK(night.site == 1u);
    CHECK_FALSE(night.deployment);
    CHECK(night.begins == local("2031-05-04 18:00"));
    CHECK(night.ends == local("2031-05-05 06:00"));
    CHECK(in_short(night) == "leave_out S2 from 2031-05-04 18:00 to 2031-05-05 6:00");
    CHECK(survey.decisions[1].deployment == 2u);
    CHECK(survey.decisions[1].ends == local("2031-05-05 00:00"));
    CHECK(survey.decisions[2].recording == "recordings/D1/x y.wav");
    CHECK(survey.decisions[2].deployment == 0u);
    CHECK(survey.decisions[3].true_start == local("2031-05-04 12:10"));
    CHECK(survey.decisions[4].recording == "recordings/D1/b.wav");
    CHECK(survey.decisions[5].stands_in == 3u);
    CHECK(survey.decisions[6].site == 3u);
    CHECK(survey.decisions[6].screen == "rain");
}

TEST_CASE("swapped cards get each other's row, and keep their names and folders") {
    SheetTexts texts = with(",belongs_to,D1,,,D3,swapped,\n,belongs_to,D3,,,D1,swapped,\n");
    texts.deployments =
        "deployment,site,folder,recorder,start,end,clock_error_start_s,gain_db,colour\n"
        "D1,S1,recordings/D1,R1,2031-05-04 12:00,2031-05-06 12:00,5,18,red\n"
        "D3,S3,recordings/D3,R3,2031-05-04 15:00,2031-05-07 12:00,-7,12,blue\n";
    const Survey survey = texts.load();
    const Deployment& first = survey.deployments[0];
    CHECK(first.name == "D1");
    CHECK(first.folder == "recordings/D1");
    CHECK(first.site == 2);
    CHECK(first.recorder == "R3");
    CHECK(first.start == local("2031-05-04 15:00"));
    CHECK(first.clock_error_start_s == -7);
    CHECK(first.gain_db == 12);
    CHECK(cell_in(first, survey, "deployment") == "D1");
    CHECK(cell_in(first, survey, "folder") == "recordings/D1");
    CHECK(cell_in(first, survey, "site") == "S3");
    CHECK(cell_in(first, survey, "colour") == "blue");
    CHECK(survey.deployments[1].site == 0);

    const Survey half = without_decision(survey, 0);
    CHECK(half.decisions.size() == 1);
    CHECK(half.deployments[0].site == 0);
    CHECK(half.deployments[1].site == 0);
    CHECK(without_decision(half, 0).deployments[1].site == 2);
}

TEST_CASE("what cannot be understood names the nearest") {
    CHECK(refused_rows(",leave_uot,S1,,,,x,\n") ==
          Lines{"decisions.csv:2:2 (decision) 'leave_uot': there is no such decision; did you mean "
                "'leave_out'?"});
    CHECK(refused_rows(",forget,S1,,,,x,\n") ==
          Lines{"decisions.csv:2:2 (decision) 'forget': there is no such decision; the decisions "
                "are leave_out, clock, belongs_to, sample_rate, keep"});
    CHECK(refused_rows(",leave_out,S1,,,,,\n") ==
          Lines{"decisions.csv:2:7 (reason): a decision without a reason is not taken; say why in "
                "a few words: they stand in the methods"});
    CHECK(refused_rows("yesterday,leave_out,S1,,,,x,\n") ==
          Lines{"decisions.csv:2:1 (date) 'yesterday': not a date; write it as 2031-05-04"});
    CHECK(refused_rows(",leave_out,recordigns/D1/a.wav,,,,x,\n") ==
          Lines{"decisions.csv:2:3 (subject) 'recordigns/D1/a.wav': neither a site nor a "
                "deployment, nor a recording of one; did you mean 'recordings/D1/a.wav'?"});
    CHECK(refused_rows(",leave_out,river,,,,x,\n") ==
          Lines{"decisions.csv:2:3 (subject) 'river': neither a site nor a deployment, nor a "
                "recording of one; name a site, a deployment, or a recording by its path as in "
                "segments.csv"});
    CHECK(refused_rows(",clock,S1,,,2031-05-04 12:00,x,\n") ==
          Lines{"decisions.csv:2:3 (subject) 'S1': deployments.csv has no such deployment; did you "
                "mean 'D1'?"});
    CHECK(
        refused_rows(",keep,D1,,,rain,x,\n") ==
        Lines{"decisions.csv:2:3 (subject) 'D1': sites.csv has no such site; did you mean 'S1'?"});
    CHECK(refused_rows(",keep,S1,,,rian,x,\n") ==
          Lines{"decisions.csv:2:6 (value) 'rian': there is no such screen; did you mean 'rain'?"});
    CHECK(refused_rows(",keep,S1,,,thunder,x,\n") ==
          Lines{"decisions.csv:2:6 (value) 'thunder': there is no such screen; write one of "
                "clipped, dead, short, outside, wind, rain, engine, too_loud"});
    CHECK(refused_rows(",belongs_to,D1,,,D1,x,\n") ==
          Lines{"decisions.csv:2:6 (value) 'D1': this is the deployment itself; name the "
                "deployment they belong to, or take the row out"});
    CHECK(refused_rows(",belongs_to,D1,,,K1,x,\n") ==
          Lines{"decisions.csv:2:6 (value) 'K1': deployments.csv has no such deployment; did you "
                "mean 'D1'?"});
    CHECK(refused_rows(",clock,D1,,,noon,x,\n") ==
          Lines{"decisions.csv:2:6 (value) 'noon': not a date and time of the local clock; write "
                "it as 2031-05-04 17:30; format the spreadsheet's column as text"});
    CHECK(refused_rows(",clock,D1,,,,x,\n") ==
          Lines{"decisions.csv:2:6 (value): the true start is not there; write it as 2031-05-04 "
                "17:30"});
    CHECK(refused_rows(",leave_out,S1,2031-05-05,2031-05-04,,x,\n") ==
          Lines{"decisions.csv:2:5 (to) '2031-05-04': ends before it begins (2031-05-05); `from` "
                "is included, `to` excluded"});
    CHECK(refused_rows(",keep,S1,2031-05-05,,rain,x,\n") ==
          Lines{"decisions.csv:2:4 (from) '2031-05-05': keep takes no 'from'; leave the field "
                "empty"});
    CHECK(refused_rows(",sample_rate,D1,,,24k,x,\n") ==
          Lines{"decisions.csv:2:6 (value) '24k': a rate runs from 1000 to 1000000 Hz; write it in "
                "hertz, such as 24000"});
    SheetTexts texts;
    texts.decisions = "decision,subject,why\nleave_out,S1,x\n";
    const Lines lines = texts.problems();
    REQUIRE(lines.size() == 1);
    CHECK(lines[0] ==
          "decisions.csv:1: there is no column 'reason', which says why; add the "
          "column; the header has decision, subject, why");
}

TEST_CASE("two decisions about the same recordings are refused, two about others are not") {
    const auto clash = [](const std::string& rows) {
        const Lines lines = refused_rows(rows);
        return lines.size() == 1 &&
               lines[0].find("line 2 decides this already") != std::string::npos;
    };
    CHECK(clash(",leave_out,S1,,,,x,\n,leave_out,D1,,,,y,\n"));
    CHECK(clash(",leave_out,D1,,,,x,\n,leave_out,S1,2031-05-05,2031-05-06,,y,\n"));
    CHECK(clash(",leave_out,recordings/D1/a.wav,,,,x,\n,leave_out,D1,,,,y,\n"));
    CHECK(clash(",leave_out,D1,2031-05-04,2031-05-06,,x,\n,leave_out,D1,2031-05-05,,,y,\n"));
    CHECK(clash(",clock,D1,,,2031-05-04,x,\n,clock,D1,,,2031-05-05,y,\n"));
    CHECK(clash(",belongs_to,D1,,,D2,x,\n,belongs_to,D1,,,D3,y,\n"));
    CHECK(clash(",keep,S1,,,rain,x,\n,keep,S1,,,rain,y,\n"));
    CHECK(refused_rows(
              ",leave_out,D1,2031-05-04,2031-05-05,,x,\n,leave_out,D1,2031-05-05,,,y,\n"
              ",leave_out,D2,,,,x,\n,leave_out,recordings/D3/a.wav,,,,x,\n"
              ",leave_out,recordings/D3/b.wav,,,,x,\n,keep,S1,,,rain,x,\n,keep,S1,,,wind,x,\n"
              ",clock,D1,,,2031-05-04,x,\n,clock,D1,b.wav,,2031-05-05,y,\n")
              .empty());
}

// What decisions do to segments, worked out on paper.
#include <catch2/catch.hpp>

#include "aggregate/decided.h"
#include "aggregate/judged_segments.h"
#include "aggregate/site_values.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;
using Kind = Decision::Kind;

namespace {

Decision decision(Kind kind, const std::string& subject) {
    Decision made;
    made.kind = kind;
    made.subject = subject;
    made.reason = "because";
    return made;
}
Decision of_deployment(Kind kind, std::size_t deployment) {
    Decision made = decision(kind, "D");
    made.deployment = deployment;
    return made;
}
Decision of_site(Kind kind, std::size_t site) {
    Decision made = decision(kind, "S");
    made.site = site;
    return made;
}

/// Collects every segment as "path segment start reasons".
class Listing : public SegmentVisitor {
  public:
    std::vector<std::string> lines;
    std::vector<std::string> sites;
    void segment(const JudgedSegment& s) override {
        const std::string& path = s.recording->row.path;
        lines.push_back(
            path.substr(path.rfind('/') + 1) + " " + std::to_string(s.row->segment) + " " +
            format_local(LocalTime(s.place.start.time_since_epoch() + std::chrono::hours(8))) +
            (s.judgement.kept() ? "" : " " + s.judgement.reasons.text()));
        sites.push_back(std::to_string(s.site));
    }
};

struct Scene {
    Survey survey = four_sites();
    TemporaryFolder folder;
    Filler filler{survey, folder.path() / "store.db"};

    Scene() {
        survey.folder = folder.path();
        survey.deployments_as_written = survey.deployments;
    }
    Listing list() {
        apply_decisions(survey);
        Listing listing;
        SegmentVisitor* const visitors[] = {&listing};
        JudgedSegments(survey, filler.store()).visit(visitors);
        return listing;
    }
    std::vector<std::string> lines() { return list().lines; }
};

using Lines = std::vector<std::string>;

}  // namespace

TEST_CASE("what is left out goes by the segment's midpoint, from included, to excluded") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 05:59:30", {{}, {}, {}, {}});
    Decision out = of_deployment(Kind::leave_out, 0);
    out.begins = at("2031-05-04 06:01");  // the midpoint of the second segment
    out.ends = at("2031-05-04 06:02");    // that of the third
    scene.survey.decisions = {out};
    CHECK(scene.lines() == Lines{"a.wav 0 2031-05-04T05:59:30",
                                 "a.wav 1 2031-05-04T06:00:30 decision",
                                 "a.wav 2 2031-05-04T06:01:30", "a.wav 3 2031-05-04T06:02:30"});
    out.begins.reset();
    scene.survey.decisions = {out};
    CHECK(scene.lines()[0] == "a.wav 0 2031-05-04T05:59:30 decision");
    CHECK(scene.lines()[2] == "a.wav 2 2031-05-04T06:01:30");
}

TEST_CASE("a site, a deployment or a recording can be left out, and comes back") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 06:00", {{{"aci", 1}}});
    scene.filler.add("DK1", "b.wav", "2031-05-04 07:00", {{{"aci", 3}}});
    scene.filler.add("DK2", "c.wav", "2031-05-04 06:00", {{{"aci", 5}}});
    const Lines all = scene.lines();
    const SiteValues before = compute_site_values(scene.survey, scene.filler.store());

    Decision recording = of_deployment(Kind::leave_out, 0);
    recording.recording = "recordings/DK1/a.wav";
    scene.survey.decisions = {recording};
    CHECK(scene.lines()[0] == all[0] + " decision");
    CHECK(scene.lines()[1] == all[1]);
    const SiteValues values = compute_site_values(scene.survey, scene.filler.store());
    CHECK(values.kept == 2);
    CHECK(before.kept == 3);

    scene.survey.decisions = {of_site(Kind::leave_out, 0)};
    CHECK(scene.lines() == Lines{all[0] + " decision", all[1] + " decision", all[2]});
    scene.survey.decisions = {of_deployment(Kind::leave_out, 1)};
    CHECK(scene.lines() == Lines{all[0], all[1], all[2] + " decision"});
    scene.survey = without_decision(scene.survey, 0);
    CHECK(scene.lines() == all);
}

TEST_CASE("what is left out rains on no neighbour and is no reason to doubt a screen") {
    Scene scene;
    scene.survey.screen.rain_nearby_weight = 1;
    scene.filler.add("DK1", "a.wav", "2031-05-04 06:00",
                     {{{"rain_score", -0.5}}, {{"rain_score", 5}}});
    CHECK(scene.lines()[0] == "a.wav 0 2031-05-04T06:00:00 rain");
    Decision out = of_deployment(Kind::leave_out, 0);
    out.begins = at("2031-05-04 06:01");
    scene.survey.decisions = {out};
    CHECK(scene.lines()[0] == "a.wav 0 2031-05-04T06:00:00");
}

TEST_CASE("a screen that is not to exclude at a site still flags there") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 06:00", {{{"rain_score", 5}}});
    scene.filler.add("DK2", "b.wav", "2031-05-04 06:00", {{{"rain_score", 5}}});
    Decision keep = of_site(Kind::keep, 0);
    keep.screen = "rain";
    scene.survey.decisions = {keep};
    CHECK(scene.lines() ==
          Lines{"a.wav 0 2031-05-04T06:00:00", "b.wav 0 2031-05-04T06:00:00 rain"});
}

TEST_CASE("a true start moves all recordings of the deployment alike") {
    Scene scene;
    scene.survey.deployments[0].clock_error_start_s = 100;  // the decision replaces the checks
    scene.survey.deployments_as_written = scene.survey.deployments;
    scene.filler.add("DK1", "a.wav", "2031-01-01 00:00", {{}});
    scene.filler.add("DK1", "b.wav", "2031-01-01 06:00", {{}});
    Decision clock = of_deployment(Kind::clock, 0);
    clock.true_start = at("2031-05-04 17:30");
    scene.survey.decisions = {clock};
    CHECK(scene.lines() == Lines{"a.wav 0 2031-05-04T17:30:00", "b.wav 0 2031-05-04T23:30:00"});
}

TEST_CASE("a true start from a recording on leaves those before it alone") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 18:00", {{}});
    scene.filler.add("DK1", "b.wav", "2031-05-05 18:00", {{}});
    scene.filler.add("DK1", "c.wav", "2031-05-05 19:00", {{}});
    Decision clock = of_deployment(Kind::clock, 0);
    clock.recording = "recordings/DK1/b.wav";
    clock.true_start = at("2031-05-05 20:30");
    Decision first = of_deployment(Kind::clock, 0);
    first.true_start = at("2031-05-04 18:05");
    scene.survey.decisions = {clock};
    CHECK(scene.lines() == Lines{"a.wav 0 2031-05-04T18:00:00", "b.wav 0 2031-05-05T20:30:00",
                                 "c.wav 0 2031-05-05T21:30:00"});
    scene.survey.decisions = {clock, first};
    CHECK(scene.lines()[0] == "a.wav 0 2031-05-04T18:05:00");
    CHECK(scene.lines()[1] == "b.wav 0 2031-05-05T20:30:00");
}

TEST_CASE(
    "a clock that fell back in mid-deployment shows the recordings before the fall as later") {
    Scene scene;
    scene.survey.deployments[0].start = at("2031-05-04 12:00");
    scene.survey.deployments[0].end = at("2031-05-08 12:00");
    scene.survey.deployments_as_written = scene.survey.deployments;
    scene.filler.add("DK1", "20310504.wav", "2031-05-04 18:00", {{}});
    scene.filler.add("DK1", "20000101.wav", "2000-01-01 00:00", {{}});
    scene.filler.add("DK1", "20000102.wav", "2000-01-02 00:00", {{}});
    CHECK(scene.lines()[0] == "20000101.wav 0 2000-01-01T00:00:00 outside");
    Decision clock = of_deployment(Kind::clock, 0);
    clock.recording = "recordings/DK1/20000101.wav";
    clock.true_start = at("2031-05-05 06:00");
    scene.survey.decisions = {clock};
    CHECK(scene.lines() == Lines{"20310504.wav 0 2031-05-04T18:00:00",
                                 "20000101.wav 0 2031-05-05T06:00:00",
                                 "20000102.wav 0 2031-05-06T06:00:00"});
}

TEST_CASE("swapped cards count at each other's site") {
    Scene scene;
    scene.filler.add("DK1", "a.wav", "2031-05-04 06:00", {{}});
    scene.filler.add("DH1", "b.wav", "2031-05-04 06:00", {{}});
    CHECK(scene.list().sites == Lines{"2", "0"});  // in the order of the deployments' names
    Decision one = of_deployment(Kind::belongs_to, 0), other = of_deployment(Kind::belongs_to, 2);
    one.stands_in = 2;
    other.stands_in = 0;
    scene.survey.decisions = {one, other};
    CHECK(scene.list().sites == Lines{"0", "2"});
}

TEST_CASE("a decision about a recording that nobody knows stops, and names the nearest") {
    Scene scene;
    scene.filler.add("DK1", "a1.wav", "2031-05-04 06:00", {{}});
    const auto refused = [&](const Decision& made) -> std::string {
        scene.survey.decisions = {made};
        try {
            scene.lines();
        } catch (const InputError& error) {
            return error.what();
        }
        return "";
    };
    Decision out = of_deployment(Kind::leave_out, 0);
    out.line = 2;
    out.subject = out.recording = "recordings/DK1/a2.wav";
    CHECK(refused(out) ==
          "decisions.csv:2 (subject) 'recordings/DK1/a2.wav': there is no such recording in "
          "recordings/DK1; did you mean 'recordings/DK1/a1.wav'?");
    Decision clock = of_deployment(Kind::clock, 1);
    clock.line = 2;
    clock.subject = "DK2";
    clock.true_start = at("2031-05-04 06:00");
    CHECK(refused(clock) ==
          "decisions.csv:2 (subject) 'DK2': there is no recording in recordings/DK2; decide once "
          "its card is offloaded, or correct the name");
}

TEST_CASE(
    "what a decision takes from a recording, be it a minute, is told before it is given away") {
    Survey survey = four_sites();
    Decision out = of_deployment(Kind::leave_out, 0);
    out.begins = at("2031-05-04 06:10");
    out.ends = at("2031-05-04 06:20");
    Decision one = of_deployment(Kind::leave_out, 1);
    one.recording = "recordings/DK2/a.wav";
    survey.decisions = {out, one};
    const Decided decided(survey);
    const Zone zone = Zone::named(survey.time_zone);
    const auto takes = [&](std::size_t deployment, const char* path, const char* from,
                           const char* to) {
        return decided.takes_from(deployment, path, zone.to_utc(at(from)), zone.to_utc(at(to)));
    };
    const char* any = "recordings/DK1/x.wav";
    CHECK(takes(0, any, "2031-05-04 06:00", "2031-05-04 07:00"));
    CHECK(takes(0, any, "2031-05-04 06:12", "2031-05-04 06:13"));
    CHECK(takes(0, any, "2031-05-04 06:19", "2031-05-04 06:30"));
    CHECK_FALSE(takes(0, any, "2031-05-04 06:20", "2031-05-04 06:30"));
    CHECK_FALSE(takes(0, any, "2031-05-04 06:00", "2031-05-04 06:09"));
    CHECK(takes(1, "recordings/DK2/a.wav", "2031-05-04 06:00", "2031-05-04 06:01"));
    CHECK_FALSE(takes(1, "recordings/DK2/b.wav", "2031-05-04 06:00", "2031-05-04 06:01"));
    CHECK_FALSE(takes(2, any, "2031-05-04 06:00", "2031-05-04 07:00"));
}

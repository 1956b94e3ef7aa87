// What was declared, and when: a record a change, and words that say no more than the record.
#include "aggregate/declarations.h"

#include <catch2/catch.hpp>

#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

namespace {

Instant time_of(int day) {
    return std::chrono::sys_days(std::chrono::year(2031) / 5 / day) + std::chrono::hours(7);
}

struct DeclarationScene {
    Survey survey = four_sites();
    TemporaryFolder folder;
    Filler filler{survey, folder.path() / "test.db"};
    int days = 0;

    DeclarationScene() { declare("aci", "dawn"); }
    void declare(const std::string& index, const std::string& window) {
        survey.contrast.primary_index = index;
        survey.contrast.primary_window = window;
    }
    /// Reads the plan on the next day.
    std::vector<Declaration> read() {
        note_declaration(survey, filler.store(), time_of(++days));
        return declarations(filler.store());
    }
    void measure(const std::string& name) {
        filler.add("DK1", name, "2031-05-04 06:00:00", {{{"aci", 1}}, {{"aci", 2}}});
    }
};

}  // namespace

TEST_CASE("a plan is noted once, and again when it changes") {
    DeclarationScene scene;
    CHECK(declarations(scene.filler.store()).empty());
    REQUIRE(scene.read().size() == 1);
    REQUIRE(scene.read().size() == 1);
    CHECK(scene.read()[0].time == "2031-05-01T07:00:00Z");
    CHECK(scene.read()[0].segments == 0);
    scene.measure("a.wav");
    CHECK(scene.read().size() == 1);
    scene.declare("bi", "dusk");
    const std::vector<Declaration> history = scene.read();
    REQUIRE(history.size() == 2);
    CHECK(history[1].primary_index == "bi");
    CHECK(history[1].time == "2031-05-06T07:00:00Z");
    CHECK(history[1].segments == 2);
    CHECK(history[0].primary_index == "aci");
    scene.survey.contrast.level = 0.9;
    CHECK(scene.read().size() == 3);
    scene.survey.stands.block = "river";
    CHECK(scene.read().size() == 4);
    scene.survey.contrast.seed = 9;  // settles nothing about the question
    CHECK(scene.read().size() == 4);
}

TEST_CASE("the words say what the record bears") {
    DeclarationScene scene;
    CHECK(declared_when({}) == "When it was declared is not on record.");
    scene.read();
    CHECK(declared_when(scene.read()) == "It was declared before any recording was measured.");
    scene.declare("bi", "dawn");  // changed, but nothing was seen yet
    CHECK(declared_when(scene.read()) == "It was declared before any recording was measured.");
    scene.measure("a.wav");
    CHECK(declared_when(scene.read()) == "It was declared before any recording was measured.");
    scene.declare("aci", "dusk");
    CHECK(declared_when(scene.read()) ==
          "It was changed on 2031-05-05, when 2 segments had been measured: first declared was aci "
          "in "
          "dawn, before any recording was measured.");
    scene.survey.stands.block = "river";
    scene.survey.contrast.level = 0.9;
    CHECK(declared_when(scene.read())
              .ends_with("Changed since something had been measured: the block, the level (last on "
                         "2031-05-06, when 2 "
                         "segments had been measured)."));
    scene.declare("", "");
    CHECK(declared_when(scene.read())
              .starts_with("It was withdrawn on 2031-05-07; first declared was "
                           "aci in dawn, before any recording was measured."));
}

TEST_CASE("a primary that was named when results were there is not called declared") {
    DeclarationScene scene;
    scene.measure("a.wav");
    CHECK(declared_when(scene.read()) == "It was named when 2 segments had been measured.");
    DeclarationScene late;
    late.declare("", "");
    late.read();
    CHECK(declared_when(late.read()).empty());
    late.measure("a.wav");
    late.declare("bi", "dawn");
    CHECK(declared_when(late.read()) ==
          "It was changed on 2031-05-03, when 2 segments had been measured: at first none was "
          "declared.");
    const std::string lines = declaration_history(late.read());
    CHECK(lines.starts_with("2031-05-01T07:00:00Z"));
    CHECK(lines.find("\n2031-05-03T07:00:00Z") != std::string::npos);
    CHECK(lines.find("primary bi in dawn") != std::string::npos);
}

TEST_CASE(
    "a command that only reads notes a change where nobody else is writing, and waits for none") {
    TemporaryFolder folder;
    Survey survey = four_sites();
    survey.folder = folder.path();
    Store::open(survey.folder);
    const Store reading = Store::open_read_only(survey.folder);
    {
        const Store other = Store::open(survey.folder);
        note_declaration_if_free(survey, reading, time_of(1));  // would wait for ever
        CHECK(declarations(reading).empty());
    }
    note_declaration_if_free(survey, reading, time_of(2));
    REQUIRE(declarations(reading).size() == 1);
    CHECK(declarations(reading)[0].time == "2031-05-02T07:00:00Z");
    const Store other = Store::open(survey.folder);
    note_declaration_if_free(survey, reading, time_of(3));  // nothing changed: nothing is opened
    CHECK(declarations(reading).size() == 1);
}

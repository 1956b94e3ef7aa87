// A key of survey.toml is one row; everything that knows keys follows the rows.
#include "survey/setting_keys.h"

#include <catch2/catch.hpp>
#include <set>

#include "measure/measure.h"
#include "survey/sheets.h"
#include "temporary_folder.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

double made_up = 3;
std::vector<std::string> listed;
std::optional<double> maybe;

constexpr SettingKey kMadeUp{.name = "made_up",
                             .member = [](Settings&) -> double& { return made_up; },
                             .least = 1,
                             .most = 7,
                             .unit = "dB",
                             .meaning = "how made up it is",
                             .more = "told in the manual",
                             .measuring = true,
                             .check = [](const Settings&) -> std::optional<Refusal> {
                                 if (made_up != 6) return {};
                                 return Refusal{"six is no number for this", "choose five"};
                             }};
constexpr SettingKey kListed{
    .name = "listed",
    .member = [](Settings&) -> std::vector<std::string>& { return listed; },
    .most = 2,
    .meaning = "some columns",
    .example = "[\"elevation_m\"]"};
constexpr SettingKey kMaybe{.name = "maybe",
                            .member = [](Settings&) -> std::optional<double>& { return maybe; },
                            .least = 0,
                            .most = 10,
                            .meaning = "a number, or none",
                            .example = "2.5"};

/// The program's sections, with these keys at the end of [contrast].
struct Extended {
    std::vector<SettingKey> keys;
    std::vector<SettingSection> sections{setting_sections().begin(), setting_sections().end()};

    explicit Extended(std::initializer_list<SettingKey> more) {
        made_up = 3;
        listed.clear();
        maybe.reset();
        for (SettingSection& section : sections)
            if (section.name == std::string("contrast")) {
                keys.assign(section.keys.begin(), section.keys.end());
                keys.insert(keys.end(), more);
                section.keys = keys;
            }
    }

    /// Reads a whole survey.toml whose [contrast] holds these lines: the problems, one line each.
    std::vector<std::string> read(const std::string& lines) const {
        const TemporaryFolder folder;
        folder.file("survey.toml",
                    "[survey]\ntime_zone = \"UTC\"\n[stands]\nfactor = \"f\"\ncompare = "
                    "[\"a\", \"b\"]\n[contrast]\n" +
                        lines);
        Settings settings;
        std::vector<Problem> problems;
        read_settings(folder.path(), sections, settings, problems);
        std::vector<std::string> found;
        for (const Problem& problem : problems) found.push_back(one_line(problem));
        return found;
    }
};

using Lines = std::vector<std::string>;

}  // namespace

TEST_CASE("a key added in one place is read, refused, written, explained and hashed") {
    const Extended with({kMadeUp});
    CHECK(with.read("") == Lines{});
    CHECK(with.read("made_up = 4.5\n") == Lines{});
    CHECK(made_up == 4.5);
    CHECK(with.read("made_up = 8\n") ==
          Lines{"survey.toml:7:11 ([contrast] made_up) '8': runs from 1 to 7; choose a value in "
                "that range"});
    CHECK(with.read("made_up = 6\n") ==
          Lines{"survey.toml:7:11 ([contrast] made_up) '6': six is no number for this; choose "
                "five"});
    made_up = 3;
    CHECK(with.read("made_upp = 4\n") ==
          Lines{"survey.toml:7:12 ([contrast] made_upp) '4': [contrast] has no key 'made_upp'; did "
                "you mean 'made_up'?"});

    CHECK(settings_template(with.sections)
              .find("#made_up = 3                        # how made up "
                    "it is\n") != std::string::npos);
    CHECK(with_settings_tables("x\n<!-- keys of [contrast] -->\nold\n<!-- end of keys -->\ny\n",
                               with.sections)
              .ends_with("* `made_up` = 3 (1 to 7 dB): how made up it is; told in the manual\n\n"
                         "<!-- end of keys -->\ny\n"));

    const std::string before = measuring_json({}, setting_sections());
    const std::string json = measuring_json({}, with.sections);
    CHECK(json != before);
    CHECK(json.find("\"made_up\":3.0") != std::string::npos);
    StoredSettings old, now;
    old.json = before;
    now.json = json;
    CHECK(settings_difference(old, now) == "made_up 3 new");
}

TEST_CASE("a list of names and a number that may be missing are rows as well") {
    const Extended with({kListed, kMaybe});
    CHECK(with.read("listed = [\"elevation_m\", \"slope\"]\nmaybe = 2\n") == Lines{});
    CHECK(listed == Lines{"elevation_m", "slope"});
    CHECK(maybe == 2.0);
    const std::string fix = "; write listed = [\"...\"], at most 2";
    CHECK(with.read("listed = [\"a\", \"b\", \"c\"]\n") ==
          Lines{"survey.toml:7:10 ([contrast] listed) '[ \"a\", \"b\", \"c\" ]': 3 texts are too "
                "many" +
                fix});
    CHECK(with.read("listed = [\"a\", 2]\n") ==
          Lines{"survey.toml:7:10 ([contrast] listed) '[ \"a\", 2 ]': a list of texts is "
                "expected" +
                fix});
    CHECK(with.read("listed = \"a\"\n") ==
          Lines{"survey.toml:7:10 ([contrast] listed) 'a': a list of texts is expected" + fix});
    CHECK(with.read("listed = [\"a\", \"a\"]\n") ==
          Lines{"survey.toml:7:10 ([contrast] listed) '[ \"a\", \"a\" ]': 'a' stands twice in it; "
                "take one out"});
    CHECK(with.read("maybe = 11\n").size() == 1);
    listed.clear();
    maybe.reset();
    const std::string page =
        with_settings_tables("<!-- keys of [contrast] -->\n<!-- end of keys -->\n", with.sections);
    CHECK(page.find("* `listed` = none (at most 2): some columns, e.g. `[\"elevation_m\"]`\n"
                    "* `maybe` = none (0 to 10): a number, or none, e.g. `2.5`\n") !=
          std::string::npos);
    CHECK(settings_template(with.sections).find("#maybe = 2.5") != std::string::npos);
}

TEST_CASE("what enters the hash is what it was when the first results were stored") {
    MeasureSettings settings;
    CHECK(measuring_json(settings, setting_sections()) ==
          R"({"anthrophony_hz":[1000.0,2000.0],"bands":[],"biophony_hz":[2000.0,8000.0],)"
          R"("frame":512,"hop":512,"range_hz":[200.0,null],"segment_s":60.0,"step_s":5.0})");
    settings.bands = {{"insects", 4000, 12'000}, {"frogs", 800, 2800}};
    settings.range_high_hz = 24'000;
    settings.step_s = 2.5;
    CHECK(measuring_json(settings, setting_sections()) ==
          R"({"anthrophony_hz":[1000.0,2000.0],"bands":[{"name":"insects","range_hz":[4000.0,)"
          R"(12000.0]},{"name":"frogs","range_hz":[800.0,2800.0]}],"biophony_hz":[2000.0,8000.0],)"
          R"("frame":512,"hop":512,"range_hz":[200.0,24000.0],"segment_s":60.0,"step_s":2.5})");
}

namespace {

/// Moves a number away from its default; true when there was one to move.
struct Move {
    Settings& settings;
    bool operator()(double& (*member)(Settings&)) const { return member(settings) += 1, true; }
    bool operator()(int& (*member)(Settings&)) const { return member(settings) += 2, true; }
    bool operator()(bool& (*member)(Settings&)) const {
        return member(settings) = !member(settings), true;
    }
    bool operator()(Band& (*member)(Settings&)) const { return member(settings).low_hz += 1, true; }
    bool operator()(OpenRange (*member)(Settings&)) const {
        return member(settings).low_hz += 1, true;
    }
    template <class Other>
    bool operator()(Other (*)(Settings&)) const {
        return false;
    }
};

/// True when the default of a number lies within the row's bounds.
struct WithinBounds {
    const SettingKey& key;
    Settings settings{};
    bool operator()(double& (*member)(Settings&)) { return in(member(settings)); }
    bool operator()(int& (*member)(Settings&)) { return in(member(settings)); }
    template <class Other>
    bool operator()(Other (*)(Settings&)) {
        return true;
    }
    bool in(double value) const { return value >= key.least && value <= key.most; }
};

}  // namespace

TEST_CASE("every row keeps its own rules") {
    const std::string before = measuring_json({}, setting_sections());
    std::set<std::string> measuring;
    for (const SettingSection& section : setting_sections()) {
        std::set<std::string> names;
        for (const SettingKey& key : section.keys) {
            CAPTURE(section.name, key.name);
            CHECK(names.insert(key.name).second);
            CHECK(key.meaning[0] != '\0');
            CHECK(std::visit(WithinBounds{key}, key.member));
            if (key.needed || key.in_use) CHECK(key.example[0] != '\0');
            // What enters the hash lies in MeasureSettings, and under a name of its own.
            Settings settings;
            if (!key.measuring || !std::visit(Move{settings}, key.member)) continue;
            CHECK(measuring.insert(key.name).second);
            CHECK(measuring_json(settings.measure, setting_sections()) != before);
        }
    }
    CHECK(measuring.size() == 7);
}

// Every refusal of survey.toml, word by word.
#include <catch2/catch.hpp>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;

namespace {

/// Problems when these lines follow the settings in order (6 lines).
Lines after(const std::string& lines) {
    SheetTexts texts;
    texts.settings += lines;
    return texts.problems();
}

/// Problems when these are all the settings.
Lines settings_alone(const std::string& lines) {
    SheetTexts texts;
    texts.settings = lines;
    return texts.problems();
}

}  // namespace

TEST_CASE("text that is not TOML is refused at its place") {
    const Lines lines = after("[measure\n");
    REQUIRE(lines.size() == 1);
    CHECK(lines[0].starts_with("survey.toml:7:"));
    CHECK(lines[0].ends_with("; correct this line; what stands after it was not checked yet"));
    CHECK(settings_alone(std::string("\xFF\xFE[\0s\0", 6)) ==
          Lines{"survey.toml: this is UTF-16 text; save it again as UTF-8 text"});
    CHECK(after("[survey]\n").size() == 1);
    CHECK(after("x = \"\xFC\"\n").size() == 1);
}

TEST_CASE("the keys that must be there") {
    CHECK(settings_alone("") ==
          Lines{"survey.toml ([survey] time_zone): this key is needed and not there; "
                "add a line such as time_zone = "
                "\"Asia/Kuching\" under [survey]",
                "survey.toml ([stands] factor): this key is needed and not there; add "
                "a line such as factor = "
                "\"nutrient_status\" under [stands]",
                "survey.toml ([stands] compare): this key is needed and not there; "
                "add a line such as compare = [\"rich\", "
                "\"poor\"] under [stands]"});
}

TEST_CASE("sections and keys that nobody knows") {
    CHECK(after("[measures]\n") == Lines{"survey.toml:7:1 (measures): there is no section "
                                         "[measures]; did you mean [measure]?"});
    CHECK(after("[weather]\n") ==
          Lines{"survey.toml:7:1 (weather): there is no section [weather]; the sections are "
                "survey, stands, measure, bands, "
                "windows, screen, taught_rain, taught_engine, taught_wind, activity, contrast, "
                "names"});
    CHECK(settings_alone("title = \"x\"\n" + SheetTexts().settings) ==
          Lines{"survey.toml:1:9 (title) 'x': this key stands outside of any section; write "
                "it below the line of its [section]"});
    CHECK(settings_alone("bands = 3\n" + SheetTexts().settings) ==
          Lines{"survey.toml:1:9 (bands) '3': a section is expected; write [bands] on a line of "
                "its own"});
    CHECK(after("blok = \"river\"\n") == Lines{"survey.toml:7:8 ([stands] blok) 'river': [stands] "
                                               "has no key 'blok'; did you mean 'block'?"});
    CHECK(after("[names]\nserial = \"x\"\n") ==
          Lines{"survey.toml:8:10 ([names] serial) 'x': [names] has no key 'serial'; its keys are "
                "start_time"});
    CHECK(after("[screen]\nrain_exclude = false\n") ==
          Lines{"survey.toml:8:16 ([screen] rain_exclude) 'false': [screen] has no key "
                "'rain_exclude'; did you mean "
                "'rain_excludes'?"});
}

TEST_CASE("values of the wrong kind") {
    CHECK(after("block = 3\n") ==
          Lines{"survey.toml:7:9 ([stands] block) '3': a text is expected; write block = \"...\""});
    CHECK(after("[measure]\nsegment_s = \"60\"\n") ==
          Lines{"survey.toml:8:13 ([measure] segment_s) '60': a number is expected; write "
                "segment_s = 1.5, without quotes"});
    CHECK(after("[measure]\nsegment_s = nan\n") ==
          Lines{"survey.toml:8:13 ([measure] segment_s) 'nan': a number is expected; write "
                "segment_s = 1.5, without quotes"});
    CHECK(after("[measure]\nframe = 512.0\n") ==
          Lines{"survey.toml:8:9 ([measure] frame) '512.0': a whole number is expected; write "
                "frame = 512, without quotes or decimals"});
    CHECK(after("[screen]\nrain_excludes = 1\n") ==
          Lines{"survey.toml:8:17 ([screen] rain_excludes) '1': true or false is expected; write "
                "rain_excludes = true, without quotes"});
    CHECK(after("[measure]\nrange_hz = 200\n") ==
          Lines{"survey.toml:8:12 ([measure] range_hz) '200': two frequencies in hertz are "
                "expected; write range_hz = [2000, "
                "8000], low before high"});
    CHECK(after("[contrast]\nprimary = \"aci\"\n") ==
          Lines{"survey.toml:8:11 ([contrast] primary) 'aci': keys in braces are expected; write { "
                "name = value, name = value }"});
    CHECK(settings_alone("[survey]\ntime_zone = \"Asia/Kuching\"\n[stands]\nfactor = "
                         "\"nutrient_status\"\ncompare = [\"rich\"]\n") ==
          Lines{"survey.toml:5:11 ([stands] compare) '[ \"rich\" ]': two texts are expected; write "
                "compare = [\"rich\", \"poor\"]"});
}

TEST_CASE("values out of their range") {
    CHECK(after("[measure]\nsegment_s = 0\n") ==
          Lines{"survey.toml:8:13 ([measure] segment_s) '0': runs from 1 to 3600; choose a value "
                "in that range"});
    CHECK(after("[measure]\nframe = 15\n") ==
          Lines{"survey.toml:8:9 ([measure] frame) '15': runs from 16 to 65536; choose a value in "
                "that range"});
    CHECK(after("[measure]\nframe = 513\n") ==
          Lines{"survey.toml:8:9 ([measure] frame) '513': a frame has an even number of samples; "
                "choose a power of two such as 512"});
    CHECK(after("[measure]\nhop = 513\n") ==
          Lines{"survey.toml:8:7 ([measure] hop) '513': a hop longer than the frame (512) would "
                "skip samples; choose at most the "
                "frame's length"});
    CHECK(after("[measure]\nstep_s = 61\n") ==
          Lines{"survey.toml:8:10 ([measure] step_s) '61': a step of 61 s does not fit into a "
                "segment of 60 s; choose a shorter "
                "step or a longer segment"});
    CHECK(after("[measure]\nbiophony_hz = [8000, 2000]\n") ==
          Lines{"survey.toml:8:15 ([measure] biophony_hz) '[ 8000, 2000 ]': the low edge is not "
                "below the high edge; write "
                "biophony_hz = [2000, 8000], low before high"});
    CHECK(after("[measure]\nbiophony_hz = [-1, 2000]\n") ==
          Lines{"survey.toml:8:15 ([measure] biophony_hz) '[ -1, 2000 ]': frequencies run from 0 "
                "to 1e+07 Hz; write biophony_hz = "
                "[2000, 8000], low before high"});
    CHECK(after("[contrast]\nlevel = 95\n") ==
          Lines{"survey.toml:8:9 ([contrast] level) '95': runs from 0.5 to 0.999; choose a value "
                "in that range"});
    CHECK(after("[contrast]\nseed = -1\n") ==
          Lines{"survey.toml:8:8 ([contrast] seed) '-1': runs from 0 to 9223372036854775807; "
                "choose a value in that range"});
    CHECK(after("[names]\nstart_time = \" \"\n") ==
          Lines{"survey.toml:8:14 ([names] start_time) ' ': an empty pattern fits no name; write "
                "one such as \"*_%Y%m%d_%H%M%S\", or "
                "take the line out"});
}

TEST_CASE("stands that cannot be compared") {
    const std::string head =
        "[survey]\ntime_zone = \"Asia/Kuching\"\n[stands]\nfactor = \"nutrient_status\"\n";
    CHECK(settings_alone(head + "compare = [\"rich\", \"rich\"]\n") ==
          Lines{"survey.toml:5:11 ([stands] compare) '[ \"rich\", \"rich\" ]': two different "
                "classes are compared; write compare = "
                "[\"rich\", \"poor\"]"});
    CHECK(settings_alone(head + "compare = [\"rich\", \"por\"]\n") ==
          Lines{"survey.toml ([stands] compare) 'por': no site of sites.csv has this "
                "nutrient_status; did you mean 'poor'?"});
    CHECK(settings_alone(head + "compare = [\"rich\", \"alluvial\"]\n") ==
          Lines{"survey.toml ([stands] compare) 'alluvial': no site of sites.csv has this "
                "nutrient_status; the sheet has poor, rich"});
    CHECK(after("block = \"nutrient_status\"\n") ==
          Lines{"survey.toml:7:9 ([stands] block) 'nutrient_status': a column cannot be the factor "
                "and the block at once; name "
                "another column, or take the line out"});
    CHECK(after("block = \"river\"\n") ==
          Lines{"sites.csv:1: there is no column 'river', which [stands] block names; add the "
                "column; the header has site, "
                "latitude, longitude, nutrient_status"});
}

TEST_CASE("zones that nobody knows") {
    CHECK(settings_alone("[survey]\ntime_zone = \"Asia/Kuchin\"\n[stands]\nfactor = "
                         "\"nutrient_status\"\ncompare = [\"rich\", \"poor\"]\n") ==
          Lines{"survey.toml:2:13 ([survey] time_zone) 'Asia/Kuchin': this machine knows no such "
                "time zone; did you mean "
                "'Asia/Kuching'?"});
}

TEST_CASE("bands whose names or edges cannot be used") {
    const std::string fix = "; use lower-case letters, digits and _, a letter first, 40 at most";
    CHECK(after("[bands]\n\"night birds\" = [1000, 2000]\n") ==
          Lines{"survey.toml:8:17 ([bands] night birds) '[ 1000, 2000 ]': 'night birds' cannot "
                "name a band" +
                fix});
    CHECK(after("[bands]\nBirds = [1000, 2000]\n") ==
          Lines{"survey.toml:8:9 ([bands] Birds) '[ 1000, 2000 ]': 'Birds' cannot name a band" +
                fix});
    CHECK(after("[bands]\nbiophony = [1000, 2000]\n") ==
          Lines{"survey.toml:8:12 ([bands] biophony) '[ 1000, 2000 ]': this name belongs to the "
                "band of that name in [measure]; "
                "choose another name, or set biophony_hz under [measure]"});
    CHECK(after("[bands]\nfrogs = [2000]\n") ==
          Lines{"survey.toml:8:9 ([bands] frogs) '[ 2000 ]': two frequencies in hertz are "
                "expected; write frogs = [2000, 8000], low "
                "before high"});
    CHECK(after("[bands]\nfrogs = [1, 2]\nfrogs = [1, 3]\n").size() == 1);
}

TEST_CASE("windows whose names or edges cannot be used") {
    const std::string fix = " = \"22:00\", \"sunrise\" or \"sunset+90min\" (720 minutes at most)";
    CHECK(after("[windows]\nearly = { from = \"dawn\", to = \"10:00\" }\n") ==
          Lines{"survey.toml:8:18 ([windows] early from) 'dawn': neither a clock time nor minutes "
                "from sunrise or sunset; write from" +
                fix});
    CHECK(after("[windows]\nearly = { from = \"04:00\" }\n") ==
          Lines{"survey.toml:8 ([windows] early): the edge 'to' is not there; write to" + fix});
    CHECK(after("[windows]\nearly = { from = 4, to = \"10:00\" }\n") ==
          Lines{"survey.toml:8:18 ([windows] early from) '4': a text is expected; write from = "
                "\"...\""});
    CHECK(after("[windows]\nearly = { from = \"10:00\", to = \"10:00\" }\n") ==
          Lines{"survey.toml:8 ([windows] early): a window that ends where it begins is empty; for "
                "the whole day write from = "
                "\"00:00\", to = \"24:00\""});
    CHECK(after("[windows]\nearly = { from = \"24:00\", to = \"10:00\" }\n") ==
          Lines{"survey.toml:8:18 ([windows] early from) '24:00': a window begins at 23:59 at the "
                "latest; write from = \"00:00\""});
    CHECK(after("[windows]\nearly = { from = \"04:00\", until = \"10:00\", to = \"10:00\" }\n") ==
          Lines{"survey.toml:8:35 ([windows] early until) '10:00': [windows] early has no key "
                "'until'; its keys are from, to"});
    CHECK(after("[windows]\nearly = false\n") ==
          Lines{"survey.toml:8:9 ([windows] early) 'false': keys in braces are expected; write { "
                "name = value, name = value }"});
    CHECK(after("[windows]\nall = { from = \"00:00\", to = \"24:00\" }\n") ==
          Lines{"survey.toml:8:7 ([windows] all) '{ from = \"00:00\", to = \"24:00\" }': a "
                "reserved name; choose another name"});
    CHECK(after("[windows]\ndawn = false\ndusk = false\nday = false\nnight = false\n") ==
          Lines{"survey.toml:7 ([windows]): no window is left; keep at least one"});
}

TEST_CASE("a primary outcome that cannot be") {
    CHECK(after("[contrast]\nprimary = { index = \"aci\", window = \"down\" }\n") ==
          Lines{"survey.toml:8:37 ([contrast] primary window) 'down': the survey has no such "
                "window; did you mean 'dawn'?"});
    CHECK(after("[contrast]\nprimary = { index = \"aci\", window = \"teatime\" }\n") ==
          Lines{"survey.toml:8:37 ([contrast] primary window) 'teatime': the survey has no such "
                "window; its windows are dawn, dusk, "
                "day, night"});
    CHECK(after("[contrast]\nprimary = { index = \"aci\" }\n") ==
          Lines{"survey.toml:8 ([contrast] primary window): this key is needed and not there; "
                "add a line such as window = "
                "\"dawn\" under [contrast] primary"});
}

// A survey measured in parts is the survey measured in one go.
#include "measure/parts.h"

#include <catch2/catch.hpp>
#include <cstdlib>

#include "base/error.h"
#include "measure/shares.h"
#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

void measure_part(const SurveyOnDisk& survey, int number, int count) {
    MeasureOptions options;
    options.quiet = true;
    options.part = number;
    options.parts = count;
    Store store = Store::open_part(part_file(survey.folder(), {number, count}));
    measure_survey(survey.load(), store, options);
    mark_part_finished(store);
}

GatherSummary gather_all(const SurveyOnDisk& survey) {
    const Survey loaded = survey.load();
    const auto parts = finished_parts(loaded);
    Store store = survey.open();
    return gather(loaded, store, parts);
}

}  // namespace

TEST_CASE("shares differ by no more than one recording") {
    Shares shares(7);
    std::vector<std::uint64_t> loads(7);
    std::uint64_t largest = 0, total = 0;
    for (std::uint64_t i = 0; i < 1000; ++i) {
        const std::uint64_t bytes = (i * 7919) % 1000 + 1;
        loads[shares.deal(bytes)] += bytes;
        largest = std::max(largest, bytes);
        total += bytes;
    }
    for (const std::uint64_t load : loads) {
        CHECK(load <= total / 7 + largest);
        CHECK(load + largest >= total / 7);
    }
}

TEST_CASE("parts joined are byte for byte the survey measured at once") {
    SurveyOnDisk once, parts;
    for (const SurveyOnDisk* survey : {&once, &parts}) {
        survey->fill();
        std::ofstream(survey->recordings("D1") / "empty_20310504_070000.wav");
        fs::create_directory(survey->recordings("D2") / "folder.wav");
    }
    once.measure();
    // The last first: the order of the tasks does not matter. More parts than some have work for.
    for (int number : {6, 5, 4, 3, 2, 1, 0}) measure_part(parts, number, 7);
    CHECK(gather_all(parts).recordings == 7);
    CHECK(all_of(parts) == all_of(once));
    // Again, and after a task that ran twice.
    measure_part(parts, 3, 7);
    CHECK(gather_all(parts).recordings == 0);
    CHECK(all_of(parts) == all_of(once));
    // And measure finds nothing left to do.
    CHECK(parts.measure().to_do == 0);
}

TEST_CASE("what survey.db has already is not measured again by a part") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    survey.wave("D1", "A_20310504_090000.wav", 2, 11);
    const Store elsewhere = Store::open_snapshot(survey.folder());
    MeasureOptions options;
    options.quiet = true;
    options.elsewhere = &elsewhere;
    options.parts = 1;
    Store store = Store::open_part(part_file(survey.folder(), {0, 1}));
    CHECK(measure_survey(survey.load(), store, options).measured == 1);
}

TEST_CASE("missing, unfinished and outdated parts are refused together, and nothing is joined") {
    SurveyOnDisk survey;
    survey.fill();
    CHECK_THROWS_AS(finished_parts(survey.load()), InputError);
    measure_part(survey, 0, 4);
    {
        // A task that was killed: the file is there, the note is not.
        Store killed = Store::open_part(part_file(survey.folder(), {1, 4}));
        MeasureOptions options;
        options.quiet = true;
        options.part = 1;
        options.parts = 4;
        measure_survey(survey.load(), killed, options);
    }
    survey.settings("segment_s = 1\nstep_s = 1\n");
    measure_part(survey, 2, 4);
    try {
        finished_parts(survey.load());
        FAIL("nothing was refused");
    } catch (const InputError& error) {
        REQUIRE(error.problems().size() == 3);
        CHECK(error.problems()[0].what == "of 4 parts these are missing: 4");
        CHECK(error.problems()[1].what == "was measured under other settings (segment_s 2 -> 1)");
        CHECK(error.problems()[2].what.find("other settings") != std::string::npos);
    }
    CHECK_FALSE(Store::exists(survey.folder()));
    for (int number : {0, 1, 3}) measure_part(survey, number, 4);
    CHECK(gather_all(survey).parts == 4);
    measure_part(survey, 0, 5);
    CHECK_THROWS_AS(finished_parts(survey.load()), InputError);
}

TEST_CASE("a part that was begun under other settings starts anew") {
    SurveyOnDisk survey, fresh;
    for (const SurveyOnDisk* each : {&survey, &fresh}) each->fill();
    measure_part(survey, 0, 1);
    for (const SurveyOnDisk* each : {&survey, &fresh})
        each->settings("segment_s = 1\nstep_s = 1\n");
    measure_part(survey, 0, 1);
    gather_all(survey);
    fresh.measure();
    CHECK(all_of(survey) == all_of(fresh));
}

TEST_CASE("the part of a task, in words and from the environment") {
    CHECK(parse_part("3/10") == Part{2, 10});
    for (const char* bad : {"0/3", "4/3", "x", "1/0", "1/2/3", "-1/2", "1/99999"})
        CHECK_THROWS_AS(parse_part(bad), InputError);
    unsetenv("SLURM_ARRAY_TASK_ID");
    CHECK_THROWS_AS(parse_part(""), InputError);
    setenv("SLURM_ARRAY_TASK_ID", "14", 1);
    setenv("SLURM_ARRAY_TASK_COUNT", "6", 1);
    setenv("SLURM_ARRAY_TASK_MIN", "10", 1);
    setenv("SLURM_ARRAY_TASK_STEP", "2", 1);
    CHECK(parse_part("") == Part{2, 6});
    CHECK(parse_part("5") == Part{4, 6});
    // Tasks 3 and 7 alone sent again: their numbers do not tell two parts.
    setenv("SLURM_ARRAY_TASK_STEP", "1", 1);
    setenv("SLURM_ARRAY_TASK_COUNT", "2", 1);
    CHECK_THROWS_AS(parse_part(""), InputError);
    setenv("SLURM_ARRAY_TASK_ID", "9", 1);
    CHECK_THROWS_AS(parse_part(""), InputError);
    setenv("SLURM_ARRAY_TASK_ID", "10", 1);
    CHECK(parse_part("") == Part{0, 2});
    setenv("SLURM_ARRAY_TASK_COUNT", "10000", 1);
    CHECK_THROWS_AS(parse_part(""), InputError);
    setenv("SLURM_ARRAY_TASK_ID", "1; rm", 1);
    CHECK_THROWS_AS(parse_part(""), InputError);
    for (const char* name : {"SLURM_ARRAY_TASK_ID", "SLURM_ARRAY_TASK_COUNT",
                             "SLURM_ARRAY_TASK_MIN", "SLURM_ARRAY_TASK_STEP"})
        unsetenv(name);
}

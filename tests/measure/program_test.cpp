// The real program: killed, interrupted, run twice at once, fed a disk that does not read.
#include <signal.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <map>
#include <thread>

#include "store/writer_lock.h"
#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

void sleep_ms(int milliseconds) {
    std::this_thread::sleep_for(std::chrono::milliseconds(milliseconds));
}

/// Enough work for a kill to fall into the middle: half an hour of sound in 18 files, one of them
/// cut.
void fill_long(const SurveyOnDisk& survey) {
    survey.settings("segment_s = 5\n");
    const char* deployments[] = {"D1", "D2", "D3", "D4"};
    for (int i = 0; i < 17; ++i)
        survey.wave(deployments[i % 4],
                    "K_20310504_" + std::to_string(100 + i).substr(1) + "0000.wav", 60.0 + i,
                    static_cast<std::uint32_t>(i), 1 + i % 2);
    survey.wave("D1", "L_20310506_000000.wav", 300, 99, 1, 48'000);
}

std::vector<std::string> measure_words(const SurveyOnDisk& survey, const std::string& jobs = "1") {
    return {"measure", survey.folder().string(), "--quiet", "--jobs", jobs};
}

/// The library that lets reads fail, by a path for LD_PRELOAD, which takes a space for the end of a
/// name (ld.so(8)): that of the build folder may have one.
std::string failing_read(const SurveyOnDisk& survey) {
    const std::filesystem::path link = survey.folder() / "failing_read.so";
    if (!std::filesystem::exists(link))
        std::filesystem::create_symlink(HEARWOOD_FAILING_READ, link);
    return link.string();
}

}  // namespace

TEST_CASE("measure tells what it did, and exits 0, 1 or 2") {
    SurveyOnDisk survey;
    survey.fill();
    Outcome outcome = run_program(measure_words(survey));
    CHECK(outcome.err == "");
    CHECK(outcome.exit_code == 0);
    CHECK(outcome.out.find("measured 5 recordings, 24 segments") == 0);
    outcome = run_program(measure_words(survey));
    CHECK(outcome.out == "all 5 recordings were measured before; nothing to do\n");
    CHECK(outcome.exit_code == 0);

    std::ofstream(survey.recordings("D1") / "bad\x1b[31m_20310504_070000.wav") << "x";
    outcome = run_program(measure_words(survey));
    CHECK(outcome.exit_code == 1);
    CHECK(outcome.err.find("unreadable") != std::string::npos);
    CHECK(outcome.out.find("1 recording is damaged or unreadable:") != std::string::npos);
    // No file name drives the terminal.
    CHECK((outcome.out + outcome.err).find('\x1b') == std::string::npos);

    survey.settings("segment_s = \"long\"\n");
    outcome = run_program(measure_words(survey));
    CHECK(outcome.exit_code == 2);
    CHECK(outcome.err.find("survey.toml") != std::string::npos);
    CHECK(run_program({"measure"}).exit_code == 2);
    CHECK(run_program({"measure", "/nowhere"}).exit_code == 2);
}

TEST_CASE("a dry run writes nothing and opens nothing") {
    SurveyOnDisk survey;
    survey.fill();
    auto words = measure_words(survey);
    words.push_back("--dry-run");
    const Outcome outcome = run_program(words);
    CHECK(outcome.exit_code == 0);
    CHECK(outcome.out.find("5 recordings found; 5 (0.0 GB) would be opened, 0 measured before") ==
          0);
    CHECK_FALSE(fs::exists(survey.folder() / "hearwood"));
    survey.measure();
    survey.settings("segment_s = 1\nstep_s = 1\n");
    const std::string before = all_of(survey);
    const Outcome stale = run_program(words);
    CHECK(stale.err ==
          "measured with other settings: segment_s 2 -> 1; 24 segments would be measured again\n");
    CHECK(all_of(survey) == before);
}

TEST_CASE("a killed run is completed by the next, wherever it was killed") {
    SurveyOnDisk whole, survey;
    fill_long(whole);
    fill_long(survey);
    whole.measure();
    const std::string wanted = all_of(whole);
    // Killed again and again, later each time, from before the database is there to near the end.
    for (int after_ms = 2; after_ms < 200; after_ms += 1 + after_ms / 3) {
        Program program(measure_words(survey, after_ms % 2 ? "1" : "2"));
        sleep_ms(after_ms);
        program.signal(SIGKILL);
        program.join();
    }
    CHECK(run_program(measure_words(survey)).exit_code == 0);
    CHECK(all_of(survey) == wanted);
    CHECK(Store::open_read_only(survey.folder()).integrity_problems().empty());
}

TEST_CASE("Ctrl-C ends a run with 130 and a way to go on") {
    SurveyOnDisk survey, whole;
    fill_long(survey);
    fill_long(whole);
    whole.measure();
    // Once the lock is there the program is at its work, however slow the machine.
    Program program(measure_words(survey));
    const fs::path lock = survey.folder() / "hearwood" / "writer.lock";
    for (int i = 0; i < 60'000 && !fs::exists(lock); ++i) sleep_ms(1);
    program.signal(SIGINT);
    const Outcome outcome = program.join();
    CHECK(outcome.exit_code == 130);
    CHECK(outcome.err.find("run 'hearwood measure") != std::string::npos);
    CHECK(all_of(survey) != all_of(whole));
    CHECK(run_program(measure_words(survey)).exit_code == 0);
    CHECK(all_of(survey) == all_of(whole));
}

TEST_CASE("two copies at once: the second says so and waits, and nothing is spoilt") {
    SurveyOnDisk survey, whole;
    fill_long(survey);
    fill_long(whole);
    whole.measure();
    {
        // The first holds the survey for as long as this store is open.
        const Store held = survey.open();
        Program second(measure_words(survey));
        for (int i = 0; i < 3000 && second.err_so_far().empty(); ++i) sleep_ms(20);
        CHECK(second.err_so_far().find("is writing to this survey; waiting") != std::string::npos);
        CHECK_FALSE(second.ended());
        second.signal(SIGINT);
        CHECK(second.join().exit_code == 130);
    }
    Program first(measure_words(survey)), second(measure_words(survey));
    CHECK(first.join().exit_code == 0);
    CHECK(second.join().exit_code == 0);
    CHECK(all_of(survey) == all_of(whole));
}

TEST_CASE("what is made from the database is written by one program at a time") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    const std::vector<std::string> words = {"tabulate", survey.folder().string(), "--quiet"};
    {
        const auto turn = lock_results(survey.folder());
        Program second(words);
        for (int i = 0; i < 3000 && second.err_so_far().empty(); ++i) sleep_ms(20);
        CHECK(second.err_so_far().find("is writing to this survey; waiting") != std::string::npos);
        CHECK_FALSE(second.ended());
        second.signal(SIGINT);
        CHECK(second.join().exit_code == 130);
        CHECK_FALSE(fs::exists(survey.folder() / "hearwood" / "tables" / "segments.csv"));
    }
    for (int round = 0; round < 5; ++round) {
        Program one(words), other(words);
        CHECK(one.join().exit_code == 0);
        CHECK(other.join().exit_code == 0);
    }
}

TEST_CASE("a place on the disk that cannot be read costs its own segments only") {
    SurveyOnDisk survey, whole;
    for (const SurveyOnDisk* each : {&survey, &whole}) {
        each->wave("D1", "A_20310504_050000.wav", 60, 1);
        each->wave("D1", "bad_20310504_060000.wav", 60, 2);
        each->wave("D1", "bad_20310505_060000.wav", 600, 3);  // 28.8 MB: cut into pieces
    }
    whole.measure();
    // Bytes 1,000,000 to 1,010,000 of every file with "bad" in its name: samples 499,978 to
    // 504,978, all within segment 10 of 48,000 samples each.
    const std::vector<std::pair<std::string, std::string>> failing{
        {"LD_PRELOAD", failing_read(survey)},
        {"FAILING_READ_NAME", "bad"},
        {"FAILING_READ_FROM", "1000000"},
        {"FAILING_READ_TO", "1010000"}};
    const Outcome outcome = run_program(measure_words(survey, "2"), failing);
    CHECK(outcome.exit_code == 1);
    const Store store = Store::open_read_only(survey.folder());
    const Store well = Store::open_read_only(whole.folder());
    CHECK(store.find("recordings/D1/A_20310504_050000.wav")->state == RecordingState::measured);
    for (const char* name : {"bad_20310504_060000.wav", "bad_20310505_060000.wav"}) {
        INFO(name);
        const auto row = store.find(std::string("recordings/D1/") + name);
        REQUIRE(row);
        CHECK(row->state == RecordingState::damaged);
        CHECK(row->reason.find("could not be read") != std::string::npos);
        // 10,000 bytes cannot be read; of their segment what came before may be there.
        const auto rows_of = [&row](const Store& from) {
            std::map<int, std::string> rows;
            from.for_each_segment_of(from.find(row->path)->id, [&](const SegmentRow& s) {
                std::string& text = rows[s.segment];
                text = s.complete ? "complete" : "incomplete";
                for (const double value : s.values) text += " " + format_number(value);
            });
            return rows;
        };
        auto rows = rows_of(store), wanted = rows_of(well);
        if (rows.contains(10)) CHECK(rows[10].find("incomplete") == 0);
        CHECK(row->lost_s > 0.2);
        CHECK(row->lost_s <= 2);
        rows.erase(10);
        wanted.erase(10);
        CHECK(rows == wanted);
    }
}

TEST_CASE("a loss in any channel is told") {
    // Three channels are read as the first two, then the third: the third meets the failure.
    SurveyOnDisk survey;
    survey.wave("D1", "bad_20310504_060000.wav", 60, 2, 3);
    const Outcome outcome =
        run_program(measure_words(survey), {{"LD_PRELOAD", failing_read(survey)},
                                            {"FAILING_READ_NAME", "bad"},
                                            {"FAILING_READ_FROM", "3000000"},
                                            {"FAILING_READ_TO", "3000010"},
                                            {"FAILING_READ_AFTER", "1"}});
    const Store store = Store::open_read_only(survey.folder());
    const auto row = store.find("recordings/D1/bad_20310504_060000.wav");
    REQUIRE(row);
    std::map<int, int> whole;
    store.for_each_segment_of(row->id,
                              [&](const SegmentRow& s) { whole[s.channel] += s.complete; });
    REQUIRE(whole[0] == 30);
    REQUIRE(whole[1] == 30);
    REQUIRE(whole[2] == 29);
    CHECK(outcome.exit_code == 1);
    CHECK(row->state == RecordingState::damaged);
    CHECK(row->reason.find("could not be read") != std::string::npos);
    CHECK(row->lost_s > 0);
}

TEST_CASE("parts by the program, and gather") {
    SurveyOnDisk survey, whole;
    survey.fill();
    whole.fill();
    whole.measure();
    const std::string folder = survey.folder().string();
    const std::vector<std::pair<std::string, std::string>> task{{"SLURM_ARRAY_TASK_ID", "7"},
                                                                {"SLURM_ARRAY_TASK_MIN", "7"},
                                                                {"SLURM_ARRAY_TASK_COUNT", "2"}};
    CHECK(run_program({"measure", folder, "--part", "--quiet"}, task).exit_code == 0);
    Outcome outcome = run_program({"gather", folder});
    CHECK(outcome.exit_code == 2);
    CHECK(outcome.err.find("of 2 parts these are missing: 2") != std::string::npos);
    CHECK(run_program({"measure", folder, "--part=2/2", "--quiet"}).exit_code == 0);
    outcome = run_program({"gather", folder});
    CHECK(outcome.err == "");
    CHECK(outcome.exit_code == 0);
    CHECK(outcome.out == "joined 2 parts: 5 recordings new; 24 segments in all\n");
    CHECK(all_of(survey) == all_of(whole));
    survey.wave("D1", "late_20310509_050000.wav", 2, 1);
    outcome = run_program({"gather", folder});
    CHECK(outcome.exit_code == 1);
    CHECK(in_one_line(outcome.out).find("1 recording is new or changed since the parts were") !=
          std::string::npos);
}

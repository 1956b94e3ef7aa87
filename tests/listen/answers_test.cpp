#include "listen/answers.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>

#include "base/error.h"
#include "base/missing.h"
#include "listen/page.h"
#include "listen/score.h"
#include "statistics/bootstrap.h"
#include "temporary_folder.h"

using namespace hearwood;
namespace fs = std::filesystem;

namespace {

const std::string kHeaderLine =
    "sheet,listener,clip,birds,insects,frogs,mammals,rain,wind,water,engine,people,other,kinds,"
    "fullness,unsure,note\n";

std::vector<KeyLine> key() {
    std::vector<KeyLine> lines(4);
    const char* names[] = {"a0", "b1", "c2", "d3"};
    for (int i = 0; i < 4; ++i) {
        lines[i].sheet = "5ee7";
        lines[i].clip = names[i];
    }
    lines[3].repeat_of = "a0";
    return lines;
}

struct File {
    explicit File(const std::string& text) : path(folder.file("answers.csv", text)) {}
    testing::TemporaryFolder folder;
    std::filesystem::path path;
};

std::vector<Problem> problems_of(const std::string& rows) {
    const File file(kHeaderLine + rows);
    try {
        read_answers({file.path}, key());
    } catch (const InputError& error) {
        return error.problems();
    }
    return {};
}

Answer answer(const std::string& listener, const std::string& clip, int fullness, int kinds,
              bool birds) {
    Answer a;
    a.listener = listener;
    a.clip = clip;
    a.fullness = fullness;
    a.kinds = kinds;
    a.heard[0] = birds;
    return a;
}

}  // namespace

TEST_CASE("answers are read as the page writes them", "[listen]") {
    const File file(kHeaderLine +
                    "5ee7,\"A, B\",a0,1,0,1,0,0,0,0,0,0,0,3,4,1,\"a \"\"quoted\"\" note\"\n");
    const auto answers = read_answers({file.path}, key());
    REQUIRE(answers.size() == 1);
    CHECK(answers[0].listener == "A, B");
    CHECK(answers[0].heard[0]);
    CHECK_FALSE(answers[0].heard[1]);
    CHECK(answers[0].kinds == 3);
    CHECK(answers[0].fullness == 4);
    CHECK(answers[0].unsure);
    CHECK(answers[0].note == "a \"quoted\" note");
    CHECK(answers[0].animals());
}

TEST_CASE("every problem of the answers is told at once, with its place", "[listen]") {
    const auto problems = problems_of(
        "0bad,AB,a0,0,0,0,0,0,0,0,0,0,0,0,0,0,\n"
        "5ee7,AB,zz,0,0,0,0,0,0,0,0,0,0,0,0,0,\n"
        "5ee7,,a0,0,0,0,0,0,0,0,0,0,0,0,0,0,\n"
        "5ee7,AB,b1,2,0,0,0,0,0,0,0,0,0,0,5,0,\n"
        "5ee7,AB,b1,0,0,0,0,0,0,0,0,0,0,0,0,0,\n");
    REQUIRE(problems.size() == 6);
    const std::size_t lines[] = {2, 3, 4, 5, 5, 6};
    const char* fields[] = {"sheet", "clip", "listener", "birds", "fullness", "clip"};
    for (std::size_t i = 0; i < problems.size(); ++i) {
        CHECK(problems[i].line == lines[i]);
        CHECK(problems[i].field == fields[i]);
        CHECK_FALSE(problems[i].fix.empty());
    }
}

TEST_CASE("files without columns or answers are refused", "[listen]") {
    const File headless("sheet,listener\n5ee7,AB\n"), empty(kHeaderLine);
    CHECK_THROWS_AS(read_answers({headless.path}, key()), InputError);
    CHECK_THROWS_AS(read_answers({empty.path}, key()), InputError);
}

TEST_CASE("a clip is what its listeners say of it, repeats together", "[listen]") {
    const auto lines = key();
    const auto clips =
        heard_clips({answer("AB", "a0", 4, 2, true), answer("AB", "d3", 2, 2, false),
                     answer("CD", "a0", 1, 4, true), answer("CD", "b1", 0, 0, false)},
                    lines);
    REQUIRE(clips.size() == 2);
    CHECK(clips[0].key->clip == "a0");
    CHECK(clips[0].listeners == 2);
    CHECK(clips[0].fullness == Approx((3.0 + 1.0) / 2));  // AB's two answers count as one
    CHECK(clips[0].kinds == Approx(3));
    CHECK(clips[0].heard[0] == Approx(0.75));
    CHECK(clips[1].fullness == 0);
}

TEST_CASE("agreement is told within, between and among listeners", "[listen]") {
    const auto rows = agreement({answer("AB", "a0", 4, 0, true), answer("AB", "d3", 4, 0, false),
                                 answer("AB", "b1", 1, 0, false), answer("CD", "a0", 4, 0, true),
                                 answer("CD", "b1", 1, 0, false)},
                                key());
    const auto row = [&](const std::string& who, const std::string& question) {
        for (const AgreementRow& r : rows)
            if (r.who == who && r.question == question) return r;
        FAIL("no row " << who << ", " << question);
        return rows[0];
    };
    CHECK(row("AB within", "birds").clips == 1);
    CHECK(row("AB within", "birds").same == 0);
    CHECK(row("AB and CD", "fullness").kappa == Approx(1));
    CHECK(row("AB and CD", "fullness").measure == "weighted kappa");
    CHECK(row("AB and CD", "birds").kappa == Approx(1));
    CHECK(row("all 2", "birds").measure == "Fleiss' kappa");
    CHECK(is_missing(row("AB and CD", "rain").kappa));  // nobody ever heard any
}

TEST_CASE("the bootstrap draws sites, not clips", "[listen]") {
    // Ten sites of ten equal values: the mean of sites has standard deviation s / sqrt 10 whatever
    // the number of clips; the percentile interval is about 2 * 1.96 of it.
    std::vector<std::size_t> sites;
    std::vector<double> values;
    for (std::size_t site = 0; site < 10; ++site)
        for (int i = 0; i < 10; ++i) {
            sites.push_back(site);
            values.push_back(static_cast<double>(site));
        }
    const auto mean = [&](std::span<const std::size_t> chosen) {
        double sum = 0;
        for (const std::size_t i : chosen) sum += values[i];
        return sum / static_cast<double>(chosen.size());
    };
    const Bootstrapped result = bootstrap_sites(sites, 1, mean);
    CHECK(result.value == Approx(4.5));
    CHECK(result.sites == 10);
    CHECK(result.high - result.low == Approx(2 * 1.96 * std::sqrt(8.25 / 10)).epsilon(0.08));
    CHECK(bootstrap_sites(sites, 1, mean).low == result.low);
    const std::vector<std::size_t> two = {0, 0, 1};
    CHECK(is_missing(bootstrap_sites(two, 1, mean).low));
}

TEST_CASE("the page knows nothing but neutral names", "[listen]") {
    const std::string page = listening_page("5ee7", {"a0", "b1"}, 20);
    CHECK(page.find(R"("clips":["a0","b1"])") != std::string::npos);
    for (const char* secret : {"recordings/", "site", "window", "weight", "third"})
        CHECK(page.find(std::string("\"") + secret) == std::string::npos);
    CHECK(page.find("http") == page.find("http-equiv"));  // no address of any kind
    CHECK((page.find("http:") == std::string::npos && page.find("https:") == std::string::npos));
}

TEST_CASE("clips that all agree still leave doubt", "[listen]") {
    // R 4.2: binom.test(6, 6)$conf.int is 0.5407418736 to 1; binom.test(0, 3)$conf.int 0 to
    // 0.7075982262.
    Bootstrapped all{1, 1, 1, 5}, none{0, 0, 0, 5}, some{0.5, 0.5, 0.5, 5}, wide{1, 0.3, 1, 5};
    widen_unanimous(all, 6);
    CHECK(all.low == Approx(0.5407418736).epsilon(1e-9));
    CHECK(all.high == 1);
    widen_unanimous(none, 3);
    CHECK(none.low == 0);
    CHECK(none.high == Approx(0.7075982262).epsilon(1e-9));
    widen_unanimous(some, 3);
    widen_unanimous(wide, 3);
    CHECK(some.low == 0.5);
    CHECK(wide.low == 0.3);
}

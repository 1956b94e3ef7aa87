#include "base/progress.h"

#include <catch2/catch.hpp>
#include <set>
#include <string>

using namespace hearwood;

TEST_CASE("a bar says what is done and about how long the rest takes") {
    ProgressPicture picture{"measuring", "segments", 1234, 3085, 10, "a second", 100, false};
    CHECK(progress_line(picture) ==
          "measuring [#########...............]  40 %, 1,234 of 3,085 segments, 10 a second, "
          "3 min left");
    picture.width = 80;
    CHECK(progress_line(picture).size() < 80);
    CHECK(progress_line(picture).starts_with("measuring [##.....]  40 %"));
    picture.width = 70;
    CHECK(progress_line(picture) ==
          "measuring  40 %, 1,234 of 3,085 segments, 10 a second, 3 min left");
    picture.width = 40;
    CHECK(progress_line(picture).size() == 39);
    picture.width = 100;
    picture.colour = true;
    CHECK(progress_line(picture).find("[\033[32m#########\033[0m...") != std::string::npos);
    picture.total = 0;
    CHECK(progress_line(picture) == "measuring 1,234 segments, 10 a second");
    picture = {"copying", "files", 10, 10, 2, "a second", 80, false};
    CHECK(progress_line(picture) ==
          "copying [##################] 100 %, 10 of 10 files, 2 a second");
}

TEST_CASE("a bar keeps its length from the first drawing to the last") {
    std::set<std::size_t> lengths;
    for (const std::uint64_t done : {0, 1, 9, 99, 1000, 3084, 3085})
        for (const double rate : {0.0, 1.0, 9.5, 10.0, 1234.0}) {
            const std::string line =
                progress_line({"measuring", "segments", done, 3085, rate, "a second", 90, false});
            CHECK(line.size() < 90);
            lengths.insert(line.find(']') - line.find('['));
        }
    CHECK(lengths.size() == 1);
}

TEST_CASE("the rate is steady, and follows a change of pace within a minute or two") {
    SteadyRate rate;
    CHECK(rate.per_second() == 0);
    for (int i = 0; i < 600; ++i) rate.add(i % 10 == 0 ? 10 : 0, 0.2);  // 5 a second, in bursts
    CHECK(rate.per_second() == Approx(5).epsilon(0.05));
    for (int i = 0; i < 600; ++i) rate.add(0.2, 0.2);  // two minutes at 1 a second
    CHECK(rate.per_second() == Approx(1).epsilon(0.1));
}

// listening.csv as the contrast reads it.
#include "contrast/listening.h"

#include <catch2/catch.hpp>
#include <string>

#include "base/error.h"
#include "base/missing.h"
#include "temporary_folder.h"

using namespace hearwood;

namespace {

/// What is read of a table with one line of these fields.
std::vector<ListeningResult> read(const std::string& fields) {
    const testing::TemporaryFolder folder;
    folder.file("listening.csv",
                "index,heard,rho,ci_low,ci_high,clips,sites,listeners,verdict\n" + fields + '\n');
    return read_listening(folder.path());
}

}  // namespace

TEST_CASE("a listening score is read, missing numbers as missing") {
    const auto results = read("aci,fullness,0.61,,,60,12,2,unclear");
    REQUIRE(results.size() == 1);
    CHECK(results[0].rho == 0.61);
    CHECK(is_missing(results[0].low));
    CHECK(results[0].clips == 60);
    CHECK(results[0].listeners == 2);
}

TEST_CASE("counts of a listening score must be counts") {
    for (const char* count : {"", "-1", "2.5", "1e300", "99999999999"}) {
        INFO(count);
        CHECK_THROWS_AS(read("aci,fullness,0.61,0.3,0.8," + std::string(count) + ",12,2,follows"),
                        InputError);
    }
}

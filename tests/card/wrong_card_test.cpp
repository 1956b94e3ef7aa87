#include "card/wrong_card.h"

#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "audio/recorder_mark.h"

using namespace hearwood;
using namespace std::chrono;

namespace {

Survey survey_of_two(const std::string& recorder_1, const std::string& recorder_2) {
    Survey survey;
    survey.time_zone = "Asia/Kuching";
    Deployment one, two;
    one.name = "D1";
    one.recorder = recorder_1;
    two.name = "D2";
    two.recorder = recorder_2;
    survey.deployments = {one, two};
    return survey;
}

std::vector<std::string> misfits(const Survey& survey, std::size_t deployment,
                                 const std::string& prefix, const std::string& serial = "") {
    const Store store = Store::empty();
    return KnownRecorders(survey, store).misfits(survey.deployments[deployment], prefix, serial);
}

}  // namespace

TEST_CASE("a prefix can tell recorders apart when most files have it and it holds a digit") {
    const auto prefix = [](const std::vector<std::string>& all) { return identifying_prefix(all); };
    CHECK(prefix({"LT04_", "LT04_", "X"}) == "LT04_");
    CHECK(prefix({"LT04_", "LT05_"}).empty());
    CHECK(prefix({"REC_", "REC_"}).empty());
    CHECK(prefix({""}).empty());
    CHECK(prefix({}).empty());
}

TEST_CASE("a card that bears another deployment's recorder is not this one's") {
    const Survey survey = survey_of_two("LT-04", "LT-05");
    CHECK(misfits(survey, 0, "LT04_").empty());
    REQUIRE(misfits(survey, 1, "LT04_").size() == 1);
    CHECK(misfits(survey, 1, "LT04_")[0] ==
          "the beginning of its files' names is \"LT04_\", the recorder of \"D1\", not of \"D2\" "
          "(recorder \"LT-05\")");
    CHECK(misfits(survey, 1, "", "lt04").size() == 1);
    CHECK(misfits(survey, 1, "S1_").empty());
}

TEST_CASE("a recorder may move from site to site, and a sheet without recorders says nothing") {
    CHECK(misfits(survey_of_two("LT04", "LT04"), 1, "LT04_").empty());
    CHECK(misfits(survey_of_two("LT04", ""), 1, "LT04_").empty());
}

TEST_CASE("times: more than half outside the deployment speak against the card") {
    Survey survey = survey_of_two("", "");
    Deployment& deployment = survey.deployments[0];
    const Instant inside = Instant(sys_days(2026y / March / 20)),
                  before = Instant(sys_days(2026y / March / 1));
    CHECK(times_misfit(survey, deployment, std::vector{before}).empty());
    deployment.start = LocalTime(local_days(2026y / March / 14));
    CHECK(times_misfit(survey, deployment, std::vector{inside, before}).empty());
    CHECK(times_misfit(survey, deployment, {}).empty());
    CHECK(times_misfit(survey, deployment, std::vector{inside, before, before}) ==
          "2 of its 3 recordings with a time begin outside the deployment: they run from "
          "2026-03-01 to 2026-03-20, the "
          "deployment from 2026-03-14 to its unknown end");
}

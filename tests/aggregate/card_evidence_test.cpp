// Cards held against the sheet and against each other, each fault planted by itself.
#include "aggregate/card_evidence.h"

#include <catch2/catch.hpp>

#include "aggregate/placement.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

namespace {

/// Six deployments of two nights each, from 16:30 to 08:00, put out and taken in at noon.
struct Camp {
    Survey survey = four_sites();
    std::vector<CardTraits> cards;

    Camp() {
        for (const char* name : {"DX1", "DX2"}) {
            survey.deployments.push_back(survey.deployments[0]);
            survey.deployments.back().name = name;
        }
        for (std::size_t d = 0; d < survey.deployments.size(); ++d) {
            Deployment& deployment = survey.deployments[d];
            deployment.recorder = "R0" + std::to_string(d);
            deployment.start = at("2031-05-04 12:00");
            deployment.end = at("2031-05-06 12:00");
            nights(d, 0);
        }
    }

    /// The recordings of two nights, moved by so many hours, as one of ten hours and what is left.
    void nights(std::size_t deployment, int by_hours) {
        std::vector<RecordingRow> rows;
        for (const char* day : {"2031-05-04", "2031-05-05"})
            for (int half = 0; half < 2; ++half) {
                RecordingRow row;
                row.deployment = survey.deployments[deployment].name;
                row.start = at(std::string(day) + " 16:30") +
                            std::chrono::minutes(half * 465 + 60 * by_hours);
                row.path = "recordings/" + row.deployment + "/" + format_local(*row.start) + ".wav";
                row.sample_rate = 24000;
                row.channels = 1;
                row.frames = std::int64_t{24000} * 60 * 465;
                row.state = RecordingState::pending;
                rows.push_back(row);
            }
        put(deployment, rows);
    }

    void put(std::size_t deployment, std::vector<RecordingRow> rows) {
        const Placer placer(survey);
        const auto known = examine_recordings(placer, deployment, std::move(rows));
        if (cards.size() <= deployment) cards.resize(deployment + 1);
        cards[deployment] = card_traits(survey, placer, Store::empty(), deployment, known);
        FirstHours& sound = cards[deployment].sound;
        sound = {12, 0, -50 + static_cast<double>(deployment % 3), -60, 8};
    }

    std::vector<std::string> found() const {
        std::vector<std::string> lines;
        for (const Finding& finding : card_evidence(survey, Placer(survey), cards))
            lines.push_back(std::string(word(finding.code)) + " " + finding.subject.name);
        return lines;
    }
    std::string said() const {
        std::string text;
        for (const Finding& finding : card_evidence(survey, Placer(survey), cards))
            text += sentences(finding) + "\n";
        return text;
    }
};

using Lines = std::vector<std::string>;

}  // namespace

TEST_CASE("cards as they should be are no finding") {
    CHECK(Camp().found() == Lines{});
}

TEST_CASE("a dead microphone, by the screen and by having no ups and downs") {
    Camp camp;
    camp.cards[2].sound = {12, 7, -80, -81, 1};
    CHECK(camp.found() == Lines{"dead-microphone DH1"});
    camp.cards[2].sound = {12, 0, -65, -75, 0.8};
    CHECK(camp.found() == Lines{"dead-microphone DH1"});
    camp.survey.decisions.push_back({});
    camp.survey.decisions[0].kind = Decision::Kind::leave_out;
    camp.survey.decisions[0].deployment = 2;
    CHECK(camp.found() == Lines{});
}

TEST_CASE("another gain moves level and background alike") {
    Camp camp;
    camp.cards[1].sound.level_dbfs += 12;
    CHECK(camp.found() == Lines{});  // a busy place
    camp.cards[1].sound.floor_dbfs += 12;
    CHECK(camp.found() == Lines{"other-gain DK2"});
    for (Deployment& deployment : camp.survey.deployments) deployment.gain_db = 18;
    camp.survey.deployments[1].gain_db = 30;
    CHECK(camp.found() == Lines{});  // the sheet says so
}

TEST_CASE("a clock that is whole hours off, by the sheet's hours") {
    Camp camp;
    for (Deployment& deployment : camp.survey.deployments)
        deployment.hours = *parse_scheduled_hours("16:30-08:00");
    camp.nights(3, 1);
    CHECK(camp.found() == Lines{"hours-off DH2"});
    CHECK(camp.said().find("1 hour ahead") != std::string::npos);
    CHECK(camp.said().find("value 2031-05-04 16:30:00") != std::string::npos);
    camp.nights(3, -8);
    CHECK(camp.said().find("8 hours behind") != std::string::npos);
}

TEST_CASE("a clock that is whole hours off, by the other cards") {
    Camp camp;
    camp.nights(0, -1);
    CHECK(camp.found() == Lines{"hours-off DK1"});
    CHECK(camp.said().find("1 hour behind") != std::string::npos);
}

TEST_CASE("a clock that is whole hours off, by the dates of a recorder that never rests") {
    Camp camp;
    const auto days = [&](std::size_t deployment, int by_hours, int hours) {
        RecordingRow row;
        row.deployment = camp.survey.deployments[deployment].name;
        row.start = at("2031-05-04 12:05") + std::chrono::hours(by_hours);
        row.path = "recordings/" + row.deployment + "/a.wav";
        row.sample_rate = 24000;
        row.channels = 1;
        row.frames = std::int64_t{24000} * (3600 * hours - 600);
        row.state = RecordingState::pending;
        camp.put(deployment, {row});
    };
    for (std::size_t d = 0; d < camp.survey.deployments.size(); ++d) days(d, 0, 48);
    CHECK(camp.found() == Lines{});
    days(4, 1, 48);
    CHECK(camp.found() == Lines{"hours-off DX1"});
    CHECK(camp.said().find("1 hour ahead") != std::string::npos);
    days(4, -1, 40);  // begins too early and was not there to the end
    CHECK(camp.found() == Lines{});
}

TEST_CASE("swapped cards, by their dates") {
    Camp camp;
    camp.survey.deployments[5].start = at("2031-05-10 12:00");
    camp.survey.deployments[5].end = at("2031-05-12 12:00");
    camp.nights(5, 6 * 24);
    CHECK(camp.found() == Lines{});
    camp.nights(5, 0);
    camp.nights(0, 6 * 24);
    CHECK(camp.found() == Lines{"swapped DK1", "swapped DX2"});
    CHECK(camp.said().find(
              "may be that of DX2: each card's recordings lie within the other's dates") !=
          std::string::npos);
    camp.survey.decisions.resize(2);
    for (int i = 0; i < 2; ++i) {
        camp.survey.decisions[i].kind = Decision::Kind::belongs_to;
        camp.survey.decisions[i].deployment = i == 0 ? 0 : 5;
        camp.survey.decisions[i].stands_in = i == 0 ? 5 : 0;
    }
    CHECK(camp.found() == Lines{});
}

TEST_CASE("swapped cards, by serial numbers") {
    Camp camp;
    for (std::size_t d = 0; d < camp.cards.size(); ++d)
        camp.cards[d].mark = "r-0" + std::to_string(d);
    CHECK(camp.found() == Lines{});
    std::swap(camp.cards[1].mark, camp.cards[3].mark);
    CHECK(camp.found() == Lines{"swapped DK2", "swapped DH2"});
}

TEST_CASE("swapped cards, by the background of their recorders elsewhere") {
    Camp camp;  // three recorders, two deployments each
    for (std::size_t d = 0; d < camp.cards.size(); ++d) {
        camp.survey.deployments[d].recorder = "R" + std::to_string(d % 3);
        camp.cards[d].sound.floor_dbfs = -60 - 10.0 * static_cast<double>(d % 3);
    }
    CHECK(camp.found() == Lines{});
    std::swap(camp.cards[3].sound.floor_dbfs, camp.cards[4].sound.floor_dbfs);
    const Lines found = camp.found();
    CHECK(std::find(found.begin(), found.end(), "swapped DH2") != found.end());
    CHECK(std::find(found.begin(), found.end(), "swapped DX1") != found.end());
}

TEST_CASE("months later it is another visit, a changed card is not") {
    Survey survey = four_sites();
    survey.deployments.push_back(survey.deployments[0]);
    survey.deployments.push_back(survey.deployments[0]);
    const auto dates = [&](std::size_t d, const char* from, const char* to) {
        survey.deployments[d].start = at(from);
        survey.deployments[d].end = at(to);
    };
    dates(0, "2031-05-04 12:00", "2031-05-10 12:00");
    dates(4, "2031-05-10 14:00", "2031-05-16 12:00");
    dates(5, "2031-09-01 12:00", "2031-09-08 12:00");
    CHECK(visits_of_sites(survey) == std::vector<int>{1, 1, 1, 1, 1, 2});
}

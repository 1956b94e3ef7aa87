#include "base/finding.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <regex>
#include <set>

#include "base/file.h"

using namespace hearwood;

TEST_CASE("a finding is one line: severity, code, subject, sentences") {
    Finding finding{Severity::serious, FindingCode::card_full, Subject::deployment("K07-1", "K07"),
                    "Stopped early.", "Use a larger card."};
    CHECK(one_line(finding) ==
          "serious, card-full, deployment K07-1 (site K07): Stopped early. Use a larger card.");
    finding.subject = Subject::recording("recordings/K07/a\x1b[2J.wav", "K07-1");
    finding.fix.clear();
    CHECK(one_line(finding) == "serious, card-full, recordings/K07/a\\x1B[2J.wav: Stopped early.");
    finding.subject = {};
    CHECK(one_line(finding) == "serious, card-full: Stopped early.");
}

TEST_CASE("the worst come first, equals keep their order, and groups follow them") {
    std::vector<Finding> findings{{.severity = Severity::note, .code = FindingCode::gap},
                                  {.severity = Severity::serious, .code = FindingCode::gain},
                                  {.severity = Severity::note, .code = FindingCode::dates},
                                  {.severity = Severity::doubt, .code = FindingCode::gap},
                                  {.severity = Severity::note, .code = FindingCode::gap}};
    worst_first(findings);
    const auto groups = grouped_by_code(findings);
    REQUIRE(groups.size() == 4);
    CHECK(groups[0].code == FindingCode::gain);
    CHECK(groups[1].severity == Severity::doubt);
    CHECK(groups[2].code == FindingCode::gap);
    CHECK(groups[2].findings.size() == 2);
    CHECK(groups[3].code == FindingCode::dates);
}

TEST_CASE("docs/findings.md has every code and no other") {
    const std::string page =
        read_whole_file(std::filesystem::path(HEARWOOD_SOURCE_DIR) / "docs" / "findings.md");
    const std::string table = page.substr(page.find("\n* `"));
    std::set<std::string> told, known;
    const std::regex row("\n\\* ([^:]*):"), code("`([a-z-]+)`");
    for (std::sregex_iterator line(table.begin(), table.end(), row), end; line != end; ++line) {
        const std::string cell = (*line)[1];
        for (std::sregex_iterator word(cell.begin(), cell.end(), code); word != end; ++word)
            told.insert((*word)[1]);
    }
    for (int i = 0; i < kCodeCount; ++i) known.emplace(word(static_cast<FindingCode>(i)));
    CHECK(told == known);
    CHECK(known.size() == kCodeCount);
}

#include "contrast/listening.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/missing.h"
#include "base/sheet.h"
#include "base/text.h"

namespace hearwood {
namespace {

const std::vector<std::string> kHeader = {"index", "heard", "rho",       "ci_low", "ci_high",
                                          "clips", "sites", "listeners", "verdict"};

constexpr std::int64_t kMostCounted = 1'000'000'000;

/// Of an index's two results the one that speaks for it: fullness.
const ListeningResult* of_index(const std::vector<ListeningResult>& results,
                                const std::string& index) {
    const ListeningResult* found = nullptr;
    for (const ListeningResult& result : results)
        if (result.index == index && (!found || result.heard == "fullness")) found = &result;
    return found;
}

std::vector<std::string> indices_in(const std::vector<ListeningResult>& results,
                                    const std::string& first) {
    std::vector<std::string> names;
    for (const ListeningResult& result : results)
        if (std::find(names.begin(), names.end(), result.index) == names.end())
            names.push_back(result.index);
    std::stable_partition(names.begin(), names.end(),
                          [&](const std::string& name) { return name == first; });
    return names;
}

std::string listed(const std::vector<std::string>& names) {
    if (names.size() < 2) return names.empty() ? "" : names[0];
    return join(std::span(names).first(names.size() - 1), ", ") + " and " + names.back();
}

/// Two digits, and a minus sign that is one.
std::string rho(double value) {
    const std::string size = fmt::format("{:.2f}", std::abs(value));
    return (value < 0 && size != "0.00" ? "−" : "") + size;
}

std::string rho_words(const ListeningResult& r) {
    if (is_missing(r.rho)) return "(no rho)";
    if (is_missing(r.low)) return fmt::format("(rho {}, no interval)", rho(r.rho));
    return fmt::format("(rho {}, {} to {})", rho(r.rho), rho(r.low), rho(r.high));
}

}  // namespace

std::vector<ListeningResult> read_listening(const std::filesystem::path& tables_folder) {
    const std::filesystem::path file = tables_folder / "listening.csv";
    if (!std::filesystem::exists(file)) return {};
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(file, "listening.csv", problems);
    if (problems.empty() && sheet.header != kHeader)
        problems.push_back({"listening.csv", sheet.header_line, 0, "", "",
                            "its columns are not those of a listening score",
                            "run hearwood listen --score again"});
    std::vector<ListeningResult> results;
    if (problems.empty())
        for (const SheetRow& row : sheet.rows) {
            const auto number = [&](std::size_t column) {
                return number_or_problem(sheet, row, column, problems).value_or(kMissing);
            };
            const auto count = [&](std::size_t column) {
                const auto value = parse_integer(row.cells[column]);
                if (value && *value >= 0 && *value <= kMostCounted) return static_cast<int>(*value);
                problems.push_back(sheet_problem(sheet, row, column, "this is no count",
                                                 "run hearwood listen --score again"));
                return 0;
            };
            results.push_back({row.cells[0], row.cells[1], number(2), number(3), number(4),
                               count(5), count(6), count(7), row.cells[8]});
        }
    if (!problems.empty()) throw InputError(problems);
    return results;
}

std::string listening_sentence_of(const std::vector<ListeningResult>& results,
                                  const std::string& first_index) {
    if (results.empty()) return {};
    std::map<std::string, std::vector<std::string>> by_verdict;
    for (const std::string& index : indices_in(results, first_index)) {
        const ListeningResult& r = *of_index(results, index);
        by_verdict[r.verdict].push_back(index == first_index ? r.index + " " + rho_words(r)
                                                             : index);
    }
    const int clips =
        std::max_element(results.begin(), results.end(), [](const auto& a, const auto& b) {
            return a.clips < b.clips;
        })->clips;
    std::vector<std::string> parts;
    const auto add = [&](const char* verdict, const char* words) {
        if (!by_verdict[verdict].empty()) parts.push_back(listed(by_verdict[verdict]) + words);
    };
    add("follows", " followed the ear");
    add("does not follow", parts.empty() ? " did not follow the ear" : " did not");
    add("opposite", " went against the ear");
    add("unclear", " cannot be told: the interval is too wide");
    add("too few clips", " cannot be told: too few clips");
    return fmt::format(
        "In a blind listening check ({}, {}, {}), held against how full of animal sound the clips "
        "were, {}.",
        counted(clips, "clip"), counted(results[0].sites, "site"),
        counted(results[0].listeners, "listener"), join(parts, "; "));
}

std::string listening_mark(const std::vector<ListeningResult>& results, const std::string& index) {
    const ListeningResult* r = of_index(results, index);
    if (!r || r->verdict == "too few clips") return {};
    const char* words = r->verdict == "follows"    ? "followed the ear here"
                        : r->verdict == "opposite" ? "went against the ear here"
                        : r->verdict == "unclear"  ? "may or may not follow the ear here"
                                                   : "did not follow the ear here";
    return words + (" " + rho_words(*r));
}

char listening_sign(const std::vector<ListeningResult>& results, const std::string& index) {
    const ListeningResult* r = of_index(results, index);
    if (!r) return ' ';
    return r->verdict == "follows"           ? '+'
           : r->verdict == "does not follow" ? 'x'
           : r->verdict == "opposite"        ? '-'
                                             : '?';
}

std::string listening_legend(const std::vector<ListeningResult>& results) {
    if (results.empty()) return {};
    return "By ear (listening check): + followed, x did not, - went against, ? unclear";
}

}  // namespace hearwood

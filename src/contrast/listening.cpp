#include "contrast/listening.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"

namespace hearwood {
namespace {

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

TableOf<AgreementRow> agreement_table() {
    using Row = AgreementRow;
    return TableOf<Row>("listening_agreement.csv", "agreement of listeners",
                        "A row is a question, and one, two or all listeners.")
        .column("listeners", "", "who of them", &Row::who)
        .column("question", "", "what the listeners were asked", &Row::question)
        .column("measure", "", "Cohen's, weighted or Fleiss' kappa", &Row::measure)
        .column("clips", "1", "clips listened to", &Row::clips)
        .column("same", "1", "share of equal answers", &Row::same)
        .column("kappa", "1", "agreement beyond chance", &Row::kappa);
}

TableOf<ListeningResult> follow_table() {
    using Row = ListeningResult;
    return TableOf<Row>("listening.csv", "indices against the ear",
                        "A row is an index and what was heard: does the index follow it in this "
                        "survey?")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("heard", "", "what listeners said: fullness of animal sound, or kinds of call",
                &Row::heard)
        .column("rho", "1", "Spearman's rank correlation across clips, weighted", &Row::rho)
        .column("ci_low", "", "lower end of the confidence interval", &Row::low)
        .column("ci_high", "", "upper end of the confidence interval", &Row::high)
        .column("clips", "1", "clips listened to", &Row::clips)
        .column("sites", "1", "sites that took part", &Row::sites)
        .column("listeners", "1", "how many people listened", &Row::listeners)
        .column("verdict", "", "the result in a sentence", &Row::verdict);
}

TableOf<ScreenRow> screens_table() {
    using Row = ScreenRow;
    return TableOf<Row>("listening_screens.csv", "screens against the ear",
                        "A row is a screen: how right it was, in listeners' ears.")
        .column("screen", "", "the screen that is held against the ear", &Row::reason)
        .column("clips", "1", "clips listened to", &Row::clips)
        .column("flagged_weight", "1", "segments that the clips with this flag stand for",
                &Row::flagged)
        .column("heard_weight", "1", "segments that the clips in which it was heard stand for",
                &Row::heard)
        .column("both_weight", "1", "segments that the clips with both stand for", &Row::both)
        .column("precision", "1", "share of what was flagged in which it was heard",
                &Row::precision)
        .column("precision_low", "1", "lower end of its 95 % interval", &Row::precision_low)
        .column("precision_high", "1", "upper end of its 95 % interval", &Row::precision_high)
        .column("recall", "1", "share of what was heard that was flagged", &Row::recall)
        .column("recall_low", "1", "lower end of its 95 % interval", &Row::recall_low)
        .column("recall_high", "1", "upper end of its 95 % interval", &Row::recall_high);
}

TableOf<ContrastRow> heard_contrasts_table() {
    return contrasts_table("listening_contrasts.csv", "contrasts of what was heard",
                           "As contrasts.csv, for what listeners heard.");
}

std::vector<TableDescription> listening_tables() {
    return {follow_table().description(), agreement_table().description(),
            screens_table().description(), heard_contrasts_table().description()};
}

}  // namespace hearwood

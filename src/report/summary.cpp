#include "report/summary.h"

#include <cmath>

#include "base/text.h"
#include "report/web_bundle.h"
#include "words/printed_page.h"

namespace hearwood {
namespace {

std::string answer(const ContrastRow& row, const std::string& title, const Words& words) {
    if (!row.tested() || row.unbounded()) return std::string(words.say("summary.too_few"));
    // What is not the declared outcome has to hold beside all the others.
    const bool shown =
        row.role == Role::primary ? reaches(row.deciding_p(), row.level) : row.significant();
    const Words::Filling window{"window", row.window}, index{"index", title},
        class_a{"class_a", row.class_a}, class_b{"class_b", row.class_b},
        low{"low", readable_number(row.ci_low)}, high{"high", readable_number(row.ci_high)};
    if (!shown) return words.say("summary.not_shown", {window, index, class_a, class_b, low, high});
    const bool is_higher = row.difference > 0;
    // Of a difference below zero the interval is told as how much lower.
    const Words::Filling difference{"difference", readable_number(std::abs(row.difference))},
        least{"low", readable_number(is_higher ? row.ci_low : -row.ci_high)},
        most{"high", readable_number(is_higher ? row.ci_high : -row.ci_low)};
    if (is_higher)
        return words.say("summary.higher",
                         {window, index, class_a, class_b, difference, least, most});
    return words.say("summary.lower", {window, index, class_a, class_b, difference, least, most});
}

}  // namespace

std::vector<std::string> summary_sentences(const Page& page, const Words& words) {
    std::vector<std::string> sentences;
    const ContrastRow* row = page.contrast.shown();
    if (!page.refused.empty() || !row) {
        sentences.emplace_back(words.say("summary.no_contrast"));
    } else {
        sentences.push_back(words.say("summary.design", {{"sites_a", grouped(row->n_a)},
                                                         {"class_a", row->class_a},
                                                         {"sites_b", grouped(row->n_b)},
                                                         {"class_b", row->class_b}}));
        sentences.push_back(answer(*row, page.title_of(row->index), words));
        if (!row->confounder.empty() && row->tested() && reaches(row->p, row->level))
            sentences.push_back(words.say("summary.explained", {{"what", row->confounder}}));
        if (page.contrast.plan.listening.empty())
            sentences.emplace_back(words.say("summary.not_checked_by_ear"));
    }
    if (!told_as_old(page.kept).empty()) sentences.emplace_back(words.say("summary.old"));
    sentences.emplace_back(words.say("summary.meaning"));
    return sentences;
}

std::string summary_html(const Page& page) {
    const Words words(page.survey.language);
    const HtmlTemplate summary = in_language(kSummaryTemplate, words);
    Html sentences;
    for (const std::string& sentence : summary_sentences(page, words))
        sentences += summary.fill("sentence", {{"sentence", sentence}});
    return printed_document(words, std::string(words.say("summary.title")),
                            summary.fill("page", {{"survey", page.survey.title},
                                                  {"sentences", sentences},
                                                  {"unchecked", unchecked_note(words)}}))
        .text();
}

}  // namespace hearwood

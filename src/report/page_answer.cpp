// The first screen: the answer in words, its doubt, the chart, and four verdicts on it as links.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "contrast/listening.h"
#include "contrast/words.h"
#include "report/page_html.h"
#include "report/page_next.h"
#include "report/page_words.h"

namespace hearwood {

namespace {

/// A verdict on the answer: what was asked, what was found, and where the page tells more.
struct Chip {
    const char *asked, *target;
    std::string found;
};

Chip listened(const Page& page) {
    const ContrastRow* row = page.primary();
    if (page.kept.is_old(kListening))
        return {"Listened?", "#doubts", "an old check: score it anew"};
    if (!page.kept.listening || !row) return {"Listened?", "#doubts", "nobody has, yet"};
    const std::string mark = listening_mark(page.contrast.heard, row->index);
    return {"Listened?", "#listening", mark.empty() ? "yes, but not of this index" : "it " + mark};
}

Chip robust(const Page& page) {
    if (page.kept.is_old(kRobustness)) return {"Robust?", "#doubts", "an old run: make it anew"};
    if (!page.kept.robustness) return {"Robust?", "#doubts", "not tried"};
    const Agreement shares = agreement(*page.kept.robustness);
    return {"Robust?", "#robustness",
            fmt::format("the sign holds under {} {} settings",
                        shares.same_sign == shares.tested
                            ? std::string("all")
                            : grouped(static_cast<std::size_t>(shares.same_sign)) + " of",
                        grouped(static_cast<std::size_t>(shares.tested)))};
}

/// The number beside the classes that lies furthest apart and is no part of the stand; where none
/// is worth a doubt, that is said.
Chip rival(const Page& page) {
    const AuditRow* worst = nullptr;
    for (const AuditRow& row : page.contrast.audit.numbers)
        if (row.severity() != Severity::note &&
            (!worst || std::abs(row.standardised) > std::abs(worst->standardised)))
            worst = &row;
    if (!worst) return {"Another cause?", "#doubts", "no number of the sheets is a rival"};
    return {"Another cause?", "#doubts",
            std::isinf(worst->standardised)
                ? fmt::format("the classes do not overlap in {} either",
                              number_in_words(worst->name).first)
                : fmt::format("the classes differ in {} too, by {} standard deviations",
                              number_in_words(worst->name).first,
                              readable_number(std::abs(worst->standardised)))};
}

Chip usable(const Page& page) {
    const EffortHours hours = effort_hours(page);
    if (!(hours.expected > 0)) return {"Hours usable?", "#sites", "nothing is known to be due"};
    return {"Hours usable?", "#sites",
            fmt::format("{} of {} h that were due, {:.0f} %", readable_number(hours.usable),
                        readable_number(hours.expected), 100 * hours.usable / hours.expected)};
}

Html chips(const Page& page) {
    Html list;
    for (const Chip& chip : {listened(page), robust(page), rival(page), usable(page)})
        list += page_template().fill(
            "chip",
            {{"target", chip.target}, {"asked", chip.asked}, {"found", as_sentence(chip.found)}});
    return page_template().fill("chips", {{"chips", list}});
}

Html links(const Page& page) {
    Html list;
    const auto add = [&](const char* id, const char* name) {
        list += page_template().fill("link", {{"id", id}, {"name", name}});
    };
    if (page.values.segments > 0) add("pitch", "Day and pitch");
    if (!page.pairs.pairs.empty()) add("hear", "Hear it");
    add("doubts", "What could be wrong");
    add("day", "The day");
    add("indices", "Every index");
    add("sites", "The sites");
    add("sounds", "The sounds");
    if (!next_section(page).empty()) add("next", "Next season");
    add("methods", "The methods");
    return list;
}

}  // namespace

Html answer_section(const Page& page) {
    const std::string plain = plain_answer(page), answer = answer_sentence(page);
    const Html words = plain.empty() ? page_template().fill("answer alone", {{"answer", answer}})
                                     : page_template().fill("plain and answer",
                                                            {{"plain", plain}, {"answer", answer}});
    return page_template().fill("answer", {{"words", words},
                                           {"doubt", as_sentence(main_doubt(page))},
                                           {"chips", page.primary() ? chips(page) : Html()},
                                           {"links", links(page)}});
}

Html pitch_section(const Page& page) {
    if (page.values.segments == 0) return {};
    return section("pitch", "Day and pitch", charts({"pitch"}));
}

}  // namespace hearwood

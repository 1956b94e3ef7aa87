// The first screen: the answer in words, its doubt, the chart, and four verdicts on it as links.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "contrast/listening.h"
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
                ? fmt::format("the classes do not overlap in {} either", worst->name)
                : fmt::format("the classes differ in {} too, by {} standard deviations",
                              worst->name, readable_number(std::abs(worst->standardised)))};
}

Chip usable(const Page& page) {
    const EffortHours hours = effort_hours(page);
    if (!(hours.expected > 0)) return {"Hours usable?", "#sites", "nothing is known to be due"};
    return {"Hours usable?", "#sites",
            fmt::format("{} of {} h that were due, {:.0f} %", readable_number(hours.usable),
                        readable_number(hours.expected), 100 * hours.usable / hours.expected)};
}

std::string chips(const Page& page) {
    std::string html = "<ul class=\"chips\" aria-label=\"Verdicts on the answer\">\n";
    for (const Chip& chip : {listened(page), robust(page), rival(page), usable(page)})
        html += fmt::format("<li><a href=\"{}\"><strong>{}</strong> {}</a></li>\n", chip.target,
                            chip.asked, escape_html(as_sentence(chip.found)));
    return html + "</ul>\n";
}

std::string sections(const Page& page) {
    std::string html = "<nav aria-label=\"Sections\"><ul>";
    const auto add = [&](const char* id, const char* name) {
        html += fmt::format("<li><a href=\"#{}\">{}</a></li>", id, name);
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
    return html + "</ul></nav>\n";
}

}  // namespace

std::string answer_section(const Page& page) {
    const std::string plain = plain_answer(page);
    std::string words;
    if (!plain.empty()) words += fmt::format("<h2 class=\"plain\">{}</h2>\n", escape_html(plain));
    words += plain.empty() ? fmt::format("<h2 class=\"answer plain\">{}</h2>\n",
                                         escape_html(answer_sentence(page)))
                           : paragraph(answer_sentence(page), "answer");
    words += fmt::format("<p class=\"doubt\"><strong>The main doubt.</strong> {}</p>\n",
                         escape_html(as_sentence(main_doubt(page))));
    std::string html = "<section id=\"answer\" aria-label=\"The answer\">\n<div class=\"plate\">\n";
    html += "<div class=\"words\">\n" + words + "</div>\n" + charts({"answer"}) + "</div>\n";
    if (page.primary()) html += chips(page);
    return html + sections(page) + "</section>\n";
}

std::string pitch_section(const Page& page) {
    if (page.values.segments == 0) return {};
    return section("pitch", "Day and pitch", charts({"pitch"}));
}

}  // namespace hearwood

#include "plan/trial_sheet.h"

#include <fmt/format.h>

#include "base/text.h"

namespace hearwood {
namespace {

constexpr int kRows = 21;  // seven sites at three distances; the page keeps its length

}  // namespace

std::string trial_page_html(const Survey& survey, const Words& words) {
    const auto text = [&](WordKey key) { return escape_html(words.say(key)); };
    std::string html = "<section class=\"page\">\n";
    html += fmt::format("<h1>{}</h1>\n<p>{}</p>\n<p>{}</p>\n", text("trial.heading"),
                        text("trial.why"), text("trial.how"));
    html += fmt::format("<p class=\"caution\"><b>{}</b> {}</p>\n", text("sheet.caution"),
                        text("trial.caution_text"));
    html += fmt::format(
        "<p>{}</p>\n<table class=\"fill\"><thead><tr><th>{}</th><th>{}</th><th>{}</th><th>{}</th>"
        "<th>{}</th></tr></thead><tbody>\n",
        escape_html(words.say("sheet.local_time", {{"zone", survey.time_zone}})),
        text("sheet.site"), text("sheet.date"), text("trial.minute"), text("trial.distance"),
        text("sheet.notes"));
    for (int row = 0; row < kRows; ++row)
        html += "<tr><td></td><td></td><td></td><td></td><td></td></tr>\n";
    html += "</tbody></table>\n";
    if (!words.checked()) html += "<p class=\"unchecked\">" + text("common.unchecked") + "</p>\n";
    return html + "</section>\n";
}

}  // namespace hearwood

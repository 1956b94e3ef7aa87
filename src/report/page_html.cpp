#include "report/page_html.h"

#include <fmt/format.h>

#include "base/base64.h"
#include "base/sha256.h"
#include "base/text.h"
#include "report/page_data.h"
#include "report/page_next.h"
#include "report/page_words.h"
#include "report/web_bundle.h"
#include "words/family.h"

namespace hearwood {

namespace {

std::string page_style() {
    return family_style() + std::string(kPageStyle);
}

/// The hash by which a policy names an inline script or style: "'sha256-...'".
std::string source_hash(std::string_view bytes) {
    const std::string digits = sha256_of(bytes);
    std::string raw;
    for (std::size_t i = 0; i < digits.size(); i += 2)
        raw += static_cast<char>(std::stoi(digits.substr(i, 2), nullptr, 16));
    return "'sha256-" + base64(raw) + "'";
}

/// Nothing may be loaded but the page's own script and style, pictures and sounds that lie beside
/// it, and what the script makes itself to save a chart. 'self' stands for nothing in some browsers
/// when a page is opened from disk, hence file:.
std::string policy() {
    return fmt::format(
        "default-src 'none'; script-src {}; style-src {}; font-src data:; img-src data: blob: "
        "'self' file:; "
        "media-src "
        "'self' file:; base-uri 'none'; form-action 'none'",
        source_hash(kPageScript), source_hash(page_style()));
}

Html sites_section(const Page& page) {
    Html body = charts({"map", "calendar", "covariates", "screens"});
    if (page.unusable.empty())
        body += paragraph("Every recording could be used.");
    else
        body += paragraph(fmt::format("{} of {} recordings {} damaged or unreadable.",
                                      grouped(page.unusable.size()), grouped(page.recordings),
                                      page.unusable.size() == 1 ? "is" : "are")) +
                table_place("unusable", "recordings that could not be used");
    return section("sites", "The sites", body);
}

}  // namespace

const HtmlTemplate& page_template() {
    static const HtmlTemplate page(kPageTemplate);
    return page;
}

Html section(const std::string& id, const std::string& heading, const Html& body) {
    return page_template().fill("section", {{"id", id}, {"heading", heading}, {"body", body}});
}

Html charts(std::initializer_list<const char*> names) {
    Html html;
    for (const char* name : names) html += page_template().fill("chart place", {{"name", name}});
    return html;
}

Html table_place(const std::string& table, const std::string& name) {
    return page_template().fill("table place", {{"table", table}, {"name", name}});
}

Html paragraph(const std::string& text, const char* part) {
    return page_template().fill(part, {{"text", text}});
}

std::string page_html(const Page& page) {
    const std::string dates = date_range(page);
    const Html sections = pitch_section(page) + hear_section(page) + doubts_section(page) +
                          section("day", "The day", charts({"day"})) +
                          section("indices", "Every index", charts({"effects"})) +
                          sites_section(page) + sounds_section(page) + next_section(page) +
                          methods_section(page);
    return page_template()
        .fill("document", {{"policy", Html::trusted(policy())},
                           {"title", page.survey.title},
                           {"style", Html::trusted(page_style())},
                           {"heading", page.survey.title + (dates.empty() ? "" : ", " + dates)},
                           {"answer", answer_section(page)},
                           {"sections", sections},
                           {"data", Html::trusted(page_data_json(page))},
                           {"script", Html::trusted(kPageScript)}})
        .text();
}

}  // namespace hearwood

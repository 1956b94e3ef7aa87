#include "report/page_html.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include "base/sha256.h"
#include "base/text.h"
#include "report/page_data.h"
#include "report/page_next.h"
#include "report/page_words.h"
#include "report/web_bundle.h"

namespace hearwood {

namespace {

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
        "default-src 'none'; script-src {}; style-src {}; img-src data: blob: 'self' file:; "
        "media-src "
        "'self' file:; base-uri 'none'; form-action 'none'",
        source_hash(kPageScript), source_hash(kPageStyle));
}

std::string head(const Page& page) {
    return fmt::format(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<meta name=\"color-scheme\" content=\"light dark\">\n<meta name=\"referrer\" "
        "content=\"no-referrer\">\n<title>{}</title>\n<style>{}</style>\n</head>\n",
        policy(), escape_html(page.survey.title), kPageStyle);
}

std::string header(const Page& page) {
    const std::string dates = date_range(page);
    return fmt::format(
        "<a class=\"skip\" href=\"#answer\">To the answer</a>\n<header><h1>{}{}</h1></header>\n",
        escape_html(page.survey.title), dates.empty() ? "" : ", " + dates);
}

}  // namespace

std::string base64(std::string_view bytes) {
    std::string text(4 * ((bytes.size() + 2) / 3) + 1, '\0');
    const int written = EVP_EncodeBlock(reinterpret_cast<unsigned char*>(text.data()),
                                        reinterpret_cast<const unsigned char*>(bytes.data()),
                                        static_cast<int>(bytes.size()));
    text.resize(static_cast<std::size_t>(written));
    return text;
}

std::string section(const std::string& id, const std::string& heading, const std::string& body) {
    return fmt::format(
        "<section aria-labelledby=\"{0}\">\n<h2 id=\"{0}\">{1}</h2>\n{2}</section>\n", id, heading,
        body);
}

std::string charts(std::initializer_list<const char*> names) {
    std::string html;
    for (const char* name : names) html += fmt::format("<div id=\"draw-{}\"></div>\n", name);
    return html;
}

std::string table_place(const std::string& table, const std::string& name) {
    return fmt::format("<div data-table=\"{}\" data-name=\"{}\"></div>\n", table, name);
}

std::string paragraph(const std::string& text, const std::string& css_class) {
    return css_class.empty()
               ? fmt::format("<p>{}</p>\n", escape_html(text))
               : fmt::format("<p class=\"{}\">{}</p>\n", css_class, escape_html(text));
}

std::string page_html(const Page& page) {
    std::string html = head(page) + "<body>\n" + header(page) + "<main>\n" + answer_section(page);
    html +=
        "<noscript><p class=\"caution\">The charts need this page's own script, which is switched "
        "off "
        "here. The words, pictures and sounds are all there, and hearwood/tables/ holds every "
        "number.</p></noscript>\n";
    html += pitch_section(page);
    html += hear_section(page);
    html += doubts_section(page);
    html += section("day", "The day", charts({"day"}));
    html += section("indices", "Every index", charts({"effects"}));
    html +=
        section("sites", "The sites",
                charts({"covariates", "map", "calendar", "screens"}) +
                    (page.unusable.empty()
                         ? paragraph("Every recording could be used.")
                         : paragraph(fmt::format("{} of {} recordings are damaged or unreadable.",
                                                 page.unusable.size(), page.recordings)) +
                               table_place("unusable", "recordings that could not be used")));
    html += sounds_section(page);
    html += next_section(page);
    html += methods_section(page);
    html +=
        "<p class=\"note\"><a href=\"summary.html\">The answer in plain words</a>, to print "
        "for the people of the place, lies beside this page.</p>\n";
    html += "</main>\n<script type=\"application/json\" id=\"page-data\">" + page_data_json(page) +
            "</script>\n<script>";
    html += kPageScript;
    html += "</script>\n</body>\n</html>\n";
    return html;
}

}  // namespace hearwood

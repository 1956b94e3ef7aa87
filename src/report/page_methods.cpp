// Methods, settings, versions and checksums.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "aggregate/applied_steps.h"
#include "base/text.h"
#include "base/version.h"
#include "contrast/methods.h"
#include "report/page_html.h"
#include "report/page_words.h"
#include "screen/rules.h"

namespace hearwood {

namespace {

std::string citations(const Page& page) {
    std::vector<std::string> parts;
    for (const Column& column : page.values.columns)
        if (column.kind == Column::Kind::index && !column.source.empty())
            parts.push_back(fmt::format("{} ({})", column.name, column.source));
    return join(parts, ", ");
}

MethodsFacts facts_of(const Page& page) {
    MethodsFacts facts;
    const Survey& survey = page.survey;
    facts.program_version = kVersion;
    facts.factor = survey.stands.factor;
    facts.block = survey.stands.block;
    facts.segments_kept = static_cast<int>(page.values.kept);
    facts.segments_excluded = static_cast<int>(page.values.segments - page.values.kept);
    std::set<Date> dates;
    for (const DateMean& row : page.values.site_hours) dates.insert(row.date);
    facts.dates = static_cast<int>(dates.size());
    facts.segment_s = survey.measure.segment_s;
    facts.frame = survey.measure.frame;
    facts.hop = survey.measure.hop;
    facts.excluded_for = join(excluding(survey.screen).names(), ", ");
    facts.declared_when = page.declared_when;
    facts.index_citations = citations(page);
    facts.steps = steps_in_words(survey, page.values.applied);
    return facts;
}

Html term(const std::string& name, const std::string& text) {
    return page_template().fill("term", {{"name", name}, {"text", text}});
}

Html index_list(const Page& page) {
    Html columns;
    for (const Column& column : page.values.columns)
        columns += term(
            column.name,
            fmt::format("{}{}. {}{}", column.title,
                        column.unit == "1" ? "" : " (" + column.unit + ")", column.meaning,
                        column.depends_on_gain ? " It changes with the recorder's gain." : ""));
    return page_template().fill("column list", {{"columns", columns}});
}

/// Tables that no chart above shows.
Html further_tables(const Page& page) {
    const std::pair<const char*, const char*> all[] = {
        {"dawn_profile", "differences by minutes from sunrise"},
        {"onset", "onset of the dawn chorus by site and date"},
        {"variance", "where the spread of site values comes from"},
        {"onset_contrasts", "contrasts of the onset"},
        {"audit", "numbers of the audit beside the classes"},
        {"seasons", "one season and the next"},
        {"effort", "dates kept against width of the interval"},
        {"pairs", "other pairs of classes"},
        {"classes", "all classes together"}};
    Html html;
    for (const auto& [table, name] : all) {
        const NamedTable* result = page.result(std::string(table) + ".csv");
        if (!result) continue;
        if (result->rows.size() <= kMostTableRows)
            html += table_place(table, name);
        else
            html += paragraph(fmt::format("{}: {} rows, in hearwood/tables/{}.csv", name,
                                          grouped(result->rows.size()), table),
                              "note");
    }
    return html.empty() ? html : page_template().fill("further tables", {{"tables", html}});
}

/// A brace would end a field early.
std::string bibtex_text(const std::string& text) {
    std::string safe;
    for (const char c : text)
        if (c != '{' && c != '}') safe += c == '\n' ? ' ' : c;
    return safe;
}

/// How to cite the survey: the names of its authors are nowhere in the sheets.
Html citation(const Page& page) {
    if (page.values.site_hours.empty()) return {};
    const auto last =
        std::max_element(page.values.site_hours.begin(), page.values.site_hours.end(),
                         [](const DateMean& a, const DateMean& b) { return a.date < b.date; });
    const std::string title = bibtex_text(page.survey.title);
    const std::string bibtex = fmt::format(
        "@misc{{survey{0},\n  author = {{{{Authors of {1}}}}},\n  title = {{{1}}},\n  year = "
        "{{{0}}},\n"
        "  note = {{Sound recordings, {2}, measured with Hearwood {3}}}\n}}",
        static_cast<int>(std::chrono::year_month_day{last->date}.year()), title,
        bibtex_text(date_range(page)), kVersion);
    return page_template().fill("citation", {{"bibtex", bibtex}});
}

}  // namespace

std::string methods_text(const Page& page) {
    return methods_paragraph(page.contrast.contrasts, page.contrast.plan, facts_of(page));
}

Html methods_section(const Page& page) {
    Html body;
    if (page.values.segments > 0) body += paragraph(methods_text(page), "methods paragraph");
    body += index_list(page);
    Html references, facts;
    for (const std::string& line : split(methods_references(), '\n'))
        if (!line.empty()) references += paragraph(line, "list item");
    for (const auto& [name, value] : page.facts) facts += term(name, value);
    body += page_template().fill("references", {{"references", references}});
    body += citation(page) + further_tables(page);
    body += page_template().fill("settings", {{"toml", page.survey_toml}, {"facts", facts}});
    return section("methods", "The methods", body);
}

}  // namespace hearwood

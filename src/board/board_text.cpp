// The board for the terminal and as a page.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/html_template.h"
#include "base/lines.h"
#include "base/text.h"
#include "board/board.h"
#include "board/board_html.h"
#include "words/family.h"

namespace hearwood {

namespace {

constexpr int kWidestName = 26;
constexpr const char* kName = "deployment";
constexpr const char* kHead = " out    files  copies read   wipe mic  clock      hours      next\n";

/// "05-04", the year standing above.
std::string day(const std::optional<LocalTime>& time) {
    if (!time) return "?";
    return format_date(std::chrono::floor<std::chrono::days>(*time)).substr(5);
}

std::string microphone(const BoardLine& line) {
    if (line.microphone == FindingCode::dead_microphone) return "dead";
    if (line.microphone == FindingCode::other_gain) return "odd";
    return line.heard ? "ok" : "-";
}

std::string wipe(const BoardLine& line) {
    return line.may_wipe ? *line.may_wipe ? "yes" : "no" : "-";
}

std::string copies(const BoardLine& line) {
    if (line.files == 0) return "-";
    return line.proved < line.files && line.proved > 0
               ? fmt::format("{}/{}", line.proved, line.files)
               : std::to_string(line.copies);
}

std::string hours(const BoardLine& line) {
    if (line.expected_hours <= 0 && line.hours <= 0) return "-";
    const auto shown = [](double hours) {
        return hours < 10 ? fmt::format("{:.1f}", hours) : fmt::format("{:.0f}", hours);
    };
    if (line.expected_hours <= 0) return shown(line.hours);
    return shown(line.hours) + "/" + shown(line.expected_hours);
}

struct Cells {
    std::string name, out, files, copies, read, wipe, mic, clock, hours, next;
};
Cells cells_of(const Survey& survey, const BoardLine& line) {
    const Deployment& deployment = survey.deployments[line.deployment];
    return {printable(deployment.name),
            day(deployment.start),
            line.files > 0 ? grouped(line.files) : "-",
            copies(line),
            line.read_back.empty() ? "-" : line.read_back.substr(5),
            wipe(line),
            microphone(line),
            line.files > 0 ? line.clock : "-",
            hours(line),
            line.next.empty() ? "-" : line.next};
}

/// So wide that the names of a survey can be told apart.
int name_width(const Survey& survey, std::span<const BoardLine> lines) {
    int width = static_cast<int>(std::string_view(kName).size());
    for (const BoardLine& line : lines)
        width = std::max(width, characters(printable(survey.deployments[line.deployment].name)));
    return std::min(width, kWidestName);
}

/// "Visit 2, 2031-09-02 to 2031-09-12".
std::string visit_title(const Survey& survey, std::span<const BoardLine> lines, int visit) {
    std::optional<LocalTime> from, to;
    for (const BoardLine& line : lines) {
        if (line.visit != visit) continue;
        const Deployment& deployment = survey.deployments[line.deployment];
        if (deployment.start && (!from || *deployment.start < *from)) from = deployment.start;
        if (deployment.end && (!to || *deployment.end > *to)) to = deployment.end;
    }
    const auto date = [](LocalTime time) {
        return format_date(std::chrono::floor<std::chrono::days>(time));
    };
    std::string text = fmt::format("Visit {}", visit);
    if (from) text += ", from " + date(*from);
    if (to) text += " to " + date(*to);
    return text;
}

/// The findings of all lines, the worst first.
std::vector<Finding> all_findings(std::span<const BoardLine> lines) {
    std::vector<Finding> findings;
    for (const BoardLine& line : lines)
        findings.insert(findings.end(), line.findings.begin(), line.findings.end());
    worst_first(findings);
    return findings;
}

const HtmlTemplate& board_template() {
    static const HtmlTemplate page(kBoardTemplate);
    return page;
}

Html page_row(const Survey& survey, const BoardLine& line) {
    const Cells c = cells_of(survey, line);
    const Deployment& deployment = survey.deployments[line.deployment];
    Html cells;
    for (const std::string& cell :
         {c.name, survey.sites[deployment.site].name, c.out, c.files, c.copies,
          line.read_back.empty() ? "-" : line.read_back,
          line.may_wipe && !*line.may_wipe ? "no: " + line.why_not : c.wipe, c.mic, c.clock,
          c.hours, c.next})
        cells += board_template().fill("cell", {{"text", cell}});
    return board_template().fill(line.urgency < 3 ? "row that wants a hand" : "row",
                                 {{"cells", cells}});
}

Html page_visits(const Survey& survey, std::span<const BoardLine> lines) {
    Html visits;
    for (auto from = lines.begin(); from != lines.end();) {
        const auto to = std::find_if(
            from, lines.end(), [&](const BoardLine& line) { return line.visit != from->visit; });
        Html rows;
        for (const BoardLine& line : std::span(from, to)) rows += page_row(survey, line);
        visits += board_template().fill(
            "visit", {{"title", visit_title(survey, lines, from->visit)}, {"rows", rows}});
        from = to;
    }
    return visits;
}

}  // namespace

std::string board_text(const Survey& survey, std::span<const BoardLine> lines) {
    std::string text;
    const bool visits = !lines.empty() && lines.front().visit != lines.back().visit;
    const int width = name_width(survey, lines);
    int visit = 0;
    for (const BoardLine& line : lines) {
        if (line.visit != visit) {
            if (visits)
                text += (visit == 0 ? "" : "\n") + visit_title(survey, lines, line.visit) + "\n";
            if (visit == 0 || visits) text += left(kName, width) + kHead;
            visit = line.visit;
        }
        const Cells c = cells_of(survey, line);
        text += left(cut(c.name, width), width) + " " + left(c.out, 6) + " " + right(c.files, 5) +
                "  " + left(c.copies, 6) + " " + left(c.read, 6) + " " + left(c.wipe, 4) + " " +
                left(c.mic, 4) + " " + left(c.clock, 10) + " " + left(c.hours, 10) + " " + c.next +
                "\n";
    }
    return text;
}

std::string board_findings(std::span<const BoardLine> lines, std::size_t most) {
    std::string text;
    const std::vector<Finding> findings = all_findings(lines);
    for (std::size_t i = 0; i < std::min(most, findings.size()); ++i)
        text += list_entry(one_line(findings[i]));
    if (findings.size() > most)
        text += list_entry(fmt::format("and {} more: hearwood check --all shows them",
                                       grouped(findings.size() - most)));
    return text;
}

std::string board_html(const Survey& survey, std::span<const BoardLine> lines) {
    Html items;
    for (const Finding& finding : all_findings(lines))
        items += board_template().fill("finding", {{"text", one_line(finding)}});
    return board_template()
        .fill("document",
              {{"survey", survey.title},
               {"style", Html::trusted(family_style())},
               {"visits", page_visits(survey, lines)},
               {"findings",
                items.empty() ? Html() : board_template().fill("findings", {{"items", items}})}})
        .text();
}

}  // namespace hearwood

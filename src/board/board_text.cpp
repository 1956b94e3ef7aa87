// The board for the terminal and as a page.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/lines.h"
#include "base/text.h"
#include "board/board.h"

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

constexpr const char* kPageHead = R"html(<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<style>
body { margin: 2rem auto; max-width: 70rem; padding: 0 1rem; color: #1f2a2e; background: #fbf9f4;
  font: 16px/1.45 Georgia, "DejaVu Serif", serif; font-variant-numeric: tabular-nums }
h1 { font-weight: normal; margin-bottom: 0 } h2 { font-size: 1.1rem; margin: 2rem 0 .4rem }
.wide { overflow-x: auto } table { border-collapse: collapse; width: 100% }
th { text-align: left; font-weight: normal; color: #4d5759; font-size: .85rem }
th, td { padding: .3rem .6rem; border-bottom: 1px solid #d8d6cf; white-space: nowrap }
tr.soon td { background: #f3e3b5 } li { margin: .3rem 0 }
</style>
)html";

std::string page_row(const Survey& survey, const BoardLine& line) {
    const Cells c = cells_of(survey, line);
    const Deployment& deployment = survey.deployments[line.deployment];
    std::string row = line.urgency < 3 ? "<tr class=\"soon\">" : "<tr>";
    for (const std::string& cell :
         {c.name, survey.sites[deployment.site].name, c.out, c.files, c.copies,
          line.read_back.empty() ? "-" : line.read_back,
          line.may_wipe && !*line.may_wipe ? "no: " + line.why_not : c.wipe, c.mic, c.clock,
          c.hours, c.next})
        row += "<td>" + escape_html(cell) + "</td>";
    return row + "</tr>\n";
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
    std::string html = kPageHead;
    html += "<title>Board of " + escape_html(survey.title) + "</title></head><body>\n<h1>" +
            escape_html(survey.title) + "</h1>\n";
    int visit = 0;
    for (const BoardLine& line : lines) {
        if (line.visit != visit) {
            if (visit != 0) html += "</tbody></table></div>\n";
            html += "<h2>" + visit_title(survey, lines, line.visit) +
                    "</h2>\n<div class=\"wide\"><table><thead><tr><th>deployment</th>"
                    "<th>site</th><th>out</th><th>files</th><th>proved copies</th>"
                    "<th>read back since</th><th>may be wiped</th><th>microphone</th>"
                    "<th>clock</th><th>hours of expected</th><th>next</th></tr></thead><tbody>\n";
            visit = line.visit;
        }
        html += page_row(survey, line);
    }
    if (visit != 0) html += "</tbody></table></div>\n";
    const std::vector<Finding> findings = all_findings(lines);
    if (!findings.empty()) html += "<h2>Findings</h2>\n<ul>\n";
    for (const Finding& finding : findings)
        html += "<li>" + escape_html(one_line(finding)) + "</li>\n";
    if (!findings.empty()) html += "</ul>\n";
    return html + "</body></html>\n";
}

}  // namespace hearwood

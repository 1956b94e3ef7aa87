// What could be wrong with the answer.
#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "contrast/verdict.h"
#include "report/page_html.h"
#include "report/page_words.h"

namespace hearwood {

namespace {

/// "Serious, noise floor, site K07".
std::string lead(const Finding& finding) {
    std::string text(word(finding.severity));
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
    text += ", " + title(finding.code);
    if (const std::string subject = word(finding.subject); !subject.empty()) text += ", " + subject;
    return text;
}

Html finding_item(const Finding& finding) {
    return page_template().fill(
        finding.severity == Severity::serious ? "serious finding" : "finding",
        {{"lead", lead(finding)}, {"text", sentences(finding)}});
}

Html finding_list(const Html& items) {
    return page_template().fill("findings", {{"items", items}});
}

/// The findings of one code: beyond a few the first stands for the rest, which are folded away
/// behind their number.
Html group_items(const std::vector<const Finding*>& findings) {
    constexpr std::size_t kShownOpen = 3;
    Html html, folded;
    const std::size_t open = findings.size() > kShownOpen ? 1 : findings.size();
    for (std::size_t i = 0; i < findings.size(); ++i)
        (i < open ? html : folded) += finding_item(*findings[i]);
    if (folded.empty()) return html;
    return html + page_template().fill(
                      "folded findings",
                      {{"summary", fmt::format("{} more about the {}", findings.size() - open,
                                               title(findings[0]->code))},
                       {"items", folded}});
}

Html design_items(const Page& page) {
    Html html;
    for (const FindingGroup& group : grouped_by_code(page.contrast.audit.findings))
        html += group_items(group.findings);
    for (const Finding& finding : questions_of_screens(page.survey, page.values))
        html += finding_item(finding);
    return html;
}

/// What the recorders' traces point to. More than a few are folded away behind their number.
Html coverage_list(const Page& page) {
    constexpr int kShownOpen = 6;
    Html items;
    int findings = 0, serious = 0;
    for (const DeploymentCoverage& coverage : page.coverages)
        for (const Finding& finding : coverage.findings) {
            ++findings;
            serious += finding.severity == Severity::serious;
            items += finding_item(finding);
        }
    if (items.empty()) return {};
    const Html list = finding_list(items);
    if (findings <= kShownOpen) return list;
    return page_template().fill(
        "folded list",
        {{"summary", fmt::format("{} findings about the recorders, {} of them with hours lost",
                                 findings, serious)},
         {"list", list}});
}

Html effort(const Page& page) {
    if (page.values.segments == 0) return {};
    const EffortHours hours = effort_hours(page);
    std::string text = fmt::format("{} of {} segments enter the averages.",
                                   grouped(page.values.kept), grouped(page.values.segments));
    if (hours.expected > 0)
        text +=
            fmt::format(" Of {} hours that should have been recorded {} were, and {} can be used.",
                        readable_number(hours.expected), readable_number(hours.present),
                        readable_number(hours.usable));
    if (page.values.not_measured > 0)
        text += " " + counted(page.values.not_measured, "recording is", "recordings are") +
                " known but not measured yet.";
    return paragraph(text);
}

/// What survey.db keeps from another plan or other values.
Html old_results(const Page& page) {
    Html html;
    for (const Finding& old : told_as_old(page.kept)) html += paragraph(sentences(old), "caution");
    return html;
}

Html robustness_part(const Page& page) {
    if (page.kept.robustness) return page_template().fill("robustness");
    if (page.kept.is_old(kRobustness)) return {};
    return paragraph(
        "Whether the answer hangs on a choice (an excluded screen, a frame length, a single "
        "site) was not tried: run hearwood robustness.",
        "note");
}

/// What a trial found; without one the answer's own sentence says that the path is not known.
Html sound_path(const Page& page) {
    const std::vector<PathLoss>& losses = page.trials.losses;
    if (page.trials.state == KeptTrials::State::old)
        return paragraph(
            "The trial's result is of other recordings, clocks or plays than today's: run "
            "hearwood trial.",
            "caution");
    const bool any = std::any_of(losses.begin(), losses.end(), [](const PathLoss& loss) {
        return loss.distance_m > kNearestTrialM && !is_missing(loss.loss_db);
    });
    if (any) return charts({"trial"});
    return losses.empty() ? Html() : table_place("path_loss", "plays of the trial: no loss known");
}

Html listening(const Page& page) {
    const std::string remark = listening_remark(page.contrast.plan);
    if (page.kept.is_old(kListening)) return {};
    if (!page.kept.listening) return paragraph(remark, "caution");
    Html places;
    const std::pair<const char*, const char*> tables[] = {
        {"listening", "each index against the ear"},
        {"listening_agreement", "agreement of the listeners"},
        {"listening_screens", "screens against the ear"},
        {"listening_contrasts", "contrasts of what was heard"}};
    for (const auto& [table, name] : tables)
        if (page.result(std::string(table) + ".csv")) places += table_place(table, name);
    return page_template().fill("listening", {{"remark", remark}, {"tables", places}});
}

}  // namespace

Html doubts_section(const Page& page) {
    const Html items = design_items(page);
    Html body = items.empty()
                    ? paragraph(
                          "The audit of the design found nothing besides the stand that sets "
                          "the classes apart.")
                    : finding_list(items);
    if (!page.contrast.audit.numbers.empty()) body += charts({"rivals"});
    body += paragraph(page.contrast.audit.looked_at + " " + unseen_by_audit()) + sound_path(page);
    return section("doubts", "What could be wrong with it",
                   body + coverage_list(page) + effort(page) + old_results(page) +
                       robustness_part(page) + listening(page));
}

}  // namespace hearwood

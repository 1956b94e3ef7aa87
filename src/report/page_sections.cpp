// The answer and what could be wrong with it.
#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "contrast/verdict.h"
#include "report/page_html.h"
#include "report/page_words.h"

namespace hearwood {

namespace {

const char* word(Finding::Weight weight) {
    switch (weight) {
        case Finding::Weight::serious:
            return "Serious";
        case Finding::Weight::doubt:
            return "Doubt";
        case Finding::Weight::note:
            return "Note";
    }
    return "";
}

std::string item(const std::string& lead, const std::string& text, bool serious) {
    return fmt::format("<li class=\"finding{}\"><strong>{}.</strong> {}</li>\n",
                       serious ? " serious" : "", escape_html(lead), escape_html(text));
}

/// A clause without a full stop becomes a sentence.
std::string as_sentence(std::string clause) {
    if (!clause.empty() && clause.back() != '.' && clause.back() != '?') clause += '.';
    if (!clause.empty() && clause.front() >= 'a' && clause.front() <= 'z')
        clause.front() = static_cast<char>(clause.front() - 'a' + 'A');
    return clause;
}

std::string finding_item(const Finding& finding) {
    return item(fmt::format("{}, {}", word(finding.weight), finding.topic),
                finding.what + " " + finding.how_bad + " " + finding.what_to_do,
                finding.weight == Finding::Weight::serious);
}

/// The findings of one topic: beyond a few the first stands for the rest, which are folded away
/// behind their number.
std::string topic_items(const std::vector<const Finding*>& findings) {
    constexpr std::size_t kShownOpen = 3;
    std::string html, folded;
    const std::size_t open = findings.size() > kShownOpen ? 1 : findings.size();
    for (std::size_t i = 0; i < findings.size(); ++i)
        (i < open ? html : folded) += finding_item(*findings[i]);
    if (folded.empty()) return html;
    return html + fmt::format(
                      "<li class=\"finding\"><details><summary>{} more about the {}"
                      "</summary>\n<ul class=\"findings\">\n{}</ul></details></li>\n",
                      findings.size() - open, escape_html(findings[0]->topic), folded);
}

std::string design_items(const Page& page) {
    // In the order of the findings, the worst first; those of a topic and weight stand together.
    std::vector<std::vector<const Finding*>> topics;
    for (const Finding& finding : page.findings) {
        const auto same = std::find_if(topics.begin(), topics.end(), [&](const auto& topic) {
            return topic[0]->topic == finding.topic && topic[0]->weight == finding.weight;
        });
        if (same != topics.end())
            same->push_back(&finding);
        else
            topics.push_back({&finding});
    }
    std::string html;
    for (const auto& topic : topics) html += topic_items(topic);
    for (const Problem& problem : mixed_sample_rates(page.survey, page.values))
        html += item("Serious, sample rate",
                     as_sentence(problem.what) + " " + as_sentence(problem.mend), true);
    for (const Problem& problem : questions_of_screens(page.survey, page.values))
        html += item("Question, " + problem.value,
                     as_sentence(problem.what) + " " + as_sentence(problem.mend), false);
    return html;
}

/// What the recorders' traces point to. More than a few are folded away behind their number.
std::string coverage_list(const Page& page) {
    constexpr int kShownOpen = 6;
    std::string items;
    int findings = 0, grave = 0;
    for (const DeploymentCoverage& coverage : page.coverages)
        for (const CoverageFinding& finding : coverage.findings) {
            ++findings;
            grave += finding.grave;
            items +=
                item(fmt::format("{}, {}", finding.grave ? "Hours lost" : "Note",
                                 page.survey.deployments[coverage.deployment].name),
                     as_sentence(finding.what) + " " + as_sentence(finding.mend), finding.grave);
        }
    if (items.empty()) return {};
    std::string list = "<ul class=\"findings\">\n" + items + "</ul>\n";
    if (findings <= kShownOpen) return list;
    return fmt::format(
        "<details><summary>{} findings about the recorders, {} of them with hours lost</summary>\n"
        "{}</details>\n",
        findings, grave, list);
}

std::string effort(const Page& page) {
    double expected = 0, present = 0, usable = 0;
    for (const DeploymentCoverage& coverage : page.coverages) {
        expected += coverage.expected;
        present += coverage.present;
        usable += coverage.usable;
    }
    if (page.values.segments == 0) return {};
    std::string text = fmt::format("{} of {} segments enter the averages.",
                                   grouped(page.values.kept), grouped(page.values.segments));
    if (expected > 0)
        text +=
            fmt::format(" Of {} hours that should have been recorded {} were, and {} can be used.",
                        readable_number(expected / 60), readable_number(present / 60),
                        readable_number(usable / 60));
    if (page.values.not_measured > 0)
        text += " " + counted(page.values.not_measured, "recording is", "recordings are") +
                " known but not measured yet.";
    return paragraph(text);
}

std::string robustness(const Page& page) {
    if (!page.result("robustness.csv"))
        return paragraph(
            "Whether the answer hangs on a choice (an excluded screen, a frame length, a single "
            "site) was not tried: run hearwood robustness.",
            "note");
    return charts({"robustness"});
}

std::string listening(const Page& page) {
    const std::string remark = listening_remark(page.plan);
    if (!page.result("listening.csv"))
        return fmt::format("<p class=\"caution\"><strong>Caution.</strong> {}</p>\n",
                           escape_html(remark));
    std::string html = "<h3>Do the indices mean animals, here?</h3>\n" + paragraph(remark);
    const std::pair<const char*, const char*> tables[] = {
        {"listening", "each index against the ear"},
        {"listening_agreement", "agreement of the listeners"},
        {"listening_screens", "screens against the ear"},
        {"listening_contrasts", "contrasts of what was heard"}};
    for (const auto& [table, name] : tables)
        if (page.result(std::string(table) + ".csv")) html += table_place(table, name);
    return html;
}

}  // namespace

std::string answer_section(const Page& page) {
    std::string html = "<section id=\"answer\" aria-label=\"The answer\">\n" +
                       paragraph(answer_sentence(page), "answer");
    html += fmt::format("<p class=\"doubt\"><strong>The main doubt.</strong> {}</p>\n",
                        escape_html(as_sentence(main_doubt(page))));
    if (page.contrasts_stale)
        html +=
            "<p class=\"caution\"><strong>Caution.</strong> contrasts.csv does not agree with the "
            "values "
            "measured now; the numbers of the answer are old.</p>\n";
    html +=
        "<nav aria-label=\"Sections\"><ul><li><a href=\"#doubts\">What could be wrong</a></li>"
        "<li><a href=\"#day\">The day</a></li><li><a href=\"#indices\">Every index</a></li>"
        "<li><a href=\"#sites\">The sites</a></li><li><a href=\"#sounds\">The sounds</a></li>"
        "<li><a href=\"#methods\">The methods</a></li></ul></nav>\n";
    return html + charts({"answer"}) + "</section>\n";
}

std::string doubts_section(const Page& page) {
    const std::string items = design_items(page);
    std::string body;
    if (!items.empty())
        body = "<ul class=\"findings\">\n" + items + "</ul>\n";
    else if (page.audited)
        body = paragraph(
            "The audit of the design found nothing besides the stand that sets the classes apart.");
    else
        body = paragraph("The design was not audited.");
    return section("doubts", "What could be wrong with it",
                   body + coverage_list(page) + effort(page) + robustness(page) + listening(page));
}

}  // namespace hearwood

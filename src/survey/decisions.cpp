#include "survey/decisions.h"

#include <fmt/format.h>

#include "survey/survey.h"
#include "survey/too_loud.h"

namespace hearwood {

const char* name_of(Decision::Kind kind) {
    switch (kind) {
        case Decision::Kind::leave_out:
            return "leave_out";
        case Decision::Kind::clock:
            return "clock";
        case Decision::Kind::belongs_to:
            return "belongs_to";
        case Decision::Kind::sample_rate:
            return "sample_rate";
        case Decision::Kind::keep:
            return "keep";
    }
    return "";
}

std::string in_short(const Decision& decision) {
    std::string text = fmt::format("{} {}", name_of(decision.kind), decision.subject);
    if (!decision.from.empty()) text += " from " + decision.from;
    if (!decision.to.empty()) text += " to " + decision.to;
    if (!decision.value.empty()) text += ": " + decision.value;
    return text;
}

std::string in_words(const Decision& decision) {
    switch (decision.kind) {
        case Decision::Kind::leave_out:
            return decision.subject + " was left out" +
                   (decision.from.empty() ? "" : " from " + decision.from) +
                   (decision.to.empty() ? "" : " to " + decision.to);
        case Decision::Kind::clock:
            return fmt::format("the clock of {} was set so that {} began at {}", decision.subject,
                               decision.from.empty() ? "its first recording" : decision.from,
                               decision.value);
        case Decision::Kind::belongs_to:
            return fmt::format("the recordings of {} were taken as those of {}", decision.subject,
                               decision.value);
        case Decision::Kind::sample_rate:
            return fmt::format("the recordings of {} were measured at {} Hz", decision.subject,
                               decision.value);
        case Decision::Kind::keep:
            if (decision.screen == kTooLoud)
                return decision.subject + " was compared on even terms however loud it was";
            return fmt::format("the {} screen excluded nothing at {}", decision.value,
                               decision.subject);
    }
    return "";
}

int decided_rate_of(const Survey& survey, std::size_t deployment) {
    for (const Decision& decision : survey.decisions)
        if (decision.kind == Decision::Kind::sample_rate && decision.deployment == deployment)
            return decision.sample_rate;
    return 0;
}

void apply_decisions(Survey& survey) {
    survey.deployments = survey.deployments_as_written;
    for (const Decision& decision : survey.decisions) {
        if (decision.kind != Decision::Kind::belongs_to) continue;
        const Deployment& own = survey.deployments_as_written[*decision.deployment];
        Deployment& deployment = survey.deployments[*decision.deployment];
        deployment = survey.deployments_as_written[*decision.stands_in];
        deployment.name = own.name;
        deployment.folder = own.folder;
        deployment.line = own.line;
        for (std::size_t c = 0; c < survey.deployment_columns.size(); ++c) {
            const std::string& column = survey.deployment_columns[c];
            if (column == "deployment" || column == "folder") deployment.cells[c] = own.cells[c];
        }
    }
}

Survey without_decision(const Survey& survey, std::size_t decision) {
    Survey without = survey;
    without.decisions.erase(without.decisions.begin() + static_cast<std::ptrdiff_t>(decision));
    apply_decisions(without);
    return without;
}

}  // namespace hearwood

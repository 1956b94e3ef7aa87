#include "contrast/audit.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "contrast/audit_checks.h"
#include "contrast/words.h"
#include "survey/columns.h"

namespace hearwood {

namespace {

AuditInput of_two_classes(std::span<const AuditSite> sites, std::span<const AuditNumber> numbers,
                          const AuditSettings& settings) {
    AuditInput input{{}, {}, settings};
    std::vector<std::size_t> taken;
    for (std::size_t i = 0; i < sites.size(); ++i) {
        if (sites[i].stand != settings.class_a && sites[i].stand != settings.class_b) continue;
        input.sites.push_back(sites[i]);
        taken.push_back(i);
    }
    for (const AuditNumber& number : numbers) {
        AuditNumber& kept = input.numbers.emplace_back(number);
        kept.values.clear();
        for (const std::size_t i : taken) kept.values.push_back(number.values[i]);
    }
    return input;
}

template <class Has>
bool any(const AuditInput& input, const Has& has) {
    return std::any_of(input.sites.begin(), input.sites.end(), has);
}

std::string what_was_looked_at(const AuditInput& input, const std::vector<AuditRow>& rows) {
    std::vector<std::string> looked;
    const auto add = [&](bool known, const char* what) {
        if (known) looked.emplace_back(what);
    };
    add(any(input, [](const AuditSite& s) { return !s.block.empty(); }), "blocks");
    add(any(input, [](const AuditSite& s) { return !s.recorders.empty(); }), "recorders");
    add(any(input, [](const AuditSite& s) { return !s.sample_rates_hz.empty(); }), "sample rates");
    add(any(input, [](const AuditSite& s) { return !s.dates.empty(); }), "dates");
    add(any(input,
            [](const AuditSite& s) {
                return std::any_of(s.hour_minutes.begin(), s.hour_minutes.end(),
                                   [](double minutes) { return minutes > 0; });
            }),
        "hours of the day");
    add(any(input, [](const AuditSite& s) { return !s.trail.empty(); }), "trails");
    add(any(input, [](const AuditSite& s) { return !is_missing(s.latitude); }),
        "where the sites stand");
    add(any(input, [](const AuditSite& s) { return !is_missing(s.noise_floor_dbfs); }),
        "quietest levels");
    int bands = 0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (is_missing(rows[i].standardised)) continue;
        if (input.numbers[i].kind == AuditNumber::Kind::background)
            ++bands;
        else
            looked.push_back(number_in_words(rows[i].name).first);
    }
    if (bands > 0) looked.push_back("the background in " + counted(bands, "band"));
    return looked.empty() ? "Nothing could be looked at."
                          : "Looked at: " + join(looked, ", ") + ".";
}

}  // namespace

Audit audit_design(std::span<const AuditSite> sites, std::span<const AuditNumber> numbers,
                   const AuditSettings& settings) {
    const AuditInput input = of_two_classes(sites, numbers, settings);
    Audit audit;
    check_blocks(input, audit.findings);
    check_counts(input, audit.findings);
    check_recorders(input, audit.findings);
    check_rates(input, audit.findings);
    check_dates(input, audit.findings);
    check_times(input, audit.findings);
    check_visits(input, audit.findings);
    check_hours(input, audit.findings);
    check_trails(input, audit.findings);
    check_distances(input, audit.findings);
    check_numbers(input, audit.numbers, audit.findings);
    check_floor_of_one(input, audit.findings);
    worst_first(audit.findings);
    audit.looked_at = what_was_looked_at(input, audit.numbers);
    return audit;
}

std::string unseen_by_audit() {
    return "The audit does not see how far sound carries in each stand (a trial does), what one "
           "sound "
           "hides of another, or where people hunt.";
}

bool can_explain(FindingCode code) {
    return code != FindingCode::one_class_blocks && code != FindingCode::unequal_counts &&
           code != FindingCode::own_recorders && code != FindingCode::other_class_near &&
           code != FindingCode::stand && code != FindingCode::decision &&
           code != FindingCode::wrong_row;
}

const Finding* worst_explanation(std::span<const Finding> findings) {
    const auto worst = std::find_if(findings.begin(), findings.end(), [](const Finding& finding) {
        return finding.severity == Severity::serious && !confounder_of(finding).empty();
    });
    return worst == findings.end() ? nullptr : &*worst;
}

std::string confounder_of(const Finding& finding) {
    switch (finding.code) {
        case FindingCode::recorders_apart:
            return "the recorder";
        case FindingCode::sample_rate:
            return "the sample rate";
        case FindingCode::dates:
            return "the date";
        case FindingCode::hours:
            return "the hour";
        case FindingCode::trails:
            return "the trail";
        case FindingCode::clumped:
            return "the place";
        case FindingCode::gain:
            return "the recorders' gain";
        case FindingCode::height:
            return "the recorders' height";
        case FindingCode::elevation:
            return "elevation";
        case FindingCode::noise_floor:
            return "the level of the quiet minutes";
        case FindingCode::background:
            return "background noise";
        case FindingCode::column:
            return column_in_words(finding.subject.name).first;
        default:
            return {};
    }
}

}  // namespace hearwood

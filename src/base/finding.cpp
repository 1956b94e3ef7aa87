#include "base/finding.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <map>

#include "base/lines.h"
#include "base/text.h"

namespace hearwood {

namespace {

struct CodeWord {
    FindingCode code;
    std::string_view word;
};

constexpr CodeWord kCodes[] = {
    {FindingCode::damaged, "damaged"},
    {FindingCode::unreadable, "unreadable"},
    {FindingCode::no_start_time, "no-start-time"},
    {FindingCode::clock_reset, "clock-reset"},
    {FindingCode::outside, "outside"},
    {FindingCode::other_rate, "other-rate"},
    {FindingCode::other_channels, "other-channels"},
    {FindingCode::other_format, "other-format"},
    {FindingCode::other_recorder, "other-recorder"},
    {FindingCode::duplicate, "duplicate"},
    {FindingCode::overlap, "overlap"},
    {FindingCode::gap, "gap"},
    {FindingCode::short_file, "short-file"},
    {FindingCode::gone, "gone"},
    {FindingCode::missing_folder, "missing-folder"},
    {FindingCode::no_recordings, "no-recordings"},
    {FindingCode::late_start, "late-start"},
    {FindingCode::card_full, "card-full"},
    {FindingCode::power_lost, "power-lost"},
    {FindingCode::stopped, "stopped"},
    {FindingCode::stuck_schedule, "stuck-schedule"},
    {FindingCode::missing_hours, "missing-hours"},
    {FindingCode::expected_minutes, "expected-minutes"},
    {FindingCode::clock_unchecked, "clock-unchecked"},
    {FindingCode::wrong_row, "wrong-row"},
    {FindingCode::same_sound, "same-sound"},
    {FindingCode::unproved, "unproved"},
    {FindingCode::dead_microphone, "dead-microphone"},
    {FindingCode::other_gain, "other-gain"},
    {FindingCode::hours_off, "hours-off"},
    {FindingCode::swapped, "swapped"},
    {FindingCode::decision, "decision"},
    {FindingCode::always_sounds, "always-sounds"},
    {FindingCode::weather_unknown, "weather-unknown"},
    {FindingCode::one_class_blocks, "one-class-blocks"},
    {FindingCode::unequal_counts, "unequal-counts"},
    {FindingCode::recorders_apart, "recorders-apart"},
    {FindingCode::own_recorders, "own-recorders"},
    {FindingCode::sample_rate, "sample-rate"},
    {FindingCode::dates, "dates"},
    {FindingCode::hours, "hours"},
    {FindingCode::thin_hours, "thin-hours"},
    {FindingCode::no_value, "no-value"},
    {FindingCode::leans, "leans"},
    {FindingCode::visits, "visits"},
    {FindingCode::trails, "trails"},
    {FindingCode::same_class_near, "same-class-near"},
    {FindingCode::other_class_near, "other-class-near"},
    {FindingCode::clumped, "clumped"},
    {FindingCode::gain, "gain"},
    {FindingCode::height, "height"},
    {FindingCode::elevation, "elevation"},
    {FindingCode::noise_floor, "noise-floor"},
    {FindingCode::background, "background"},
    {FindingCode::odd_floor, "odd-floor"},
    {FindingCode::column, "column"},
    {FindingCode::spread, "spread"},
    {FindingCode::stand, "stand"},
    {FindingCode::old_result, "old-result"},
};

constexpr bool in_order() {
    for (std::size_t i = 0; i < std::size(kCodes); ++i)
        if (kCodes[i].code != static_cast<FindingCode>(i)) return false;
    return std::size(kCodes) == kCodeCount;
}
static_assert(in_order(), "every code has its word, in the order of the enum");

}  // namespace

std::string_view word(Severity severity) {
    constexpr std::string_view kWords[] = {"note", "doubt", "serious", "warning", "error"};
    return kWords[static_cast<int>(severity)];
}

std::string_view word(FindingCode code) {
    return kCodes[static_cast<std::size_t>(code)].word;
}

std::string title(FindingCode code) {
    std::string text(word(code));
    std::replace(text.begin(), text.end(), '-', ' ');
    return text;
}

std::string word(const Subject& subject) {
    const std::string name = printable(subject.name);
    switch (subject.kind) {
        case Subject::Kind::survey:
            return {};
        case Subject::Kind::site:
            return "site " + name;
        case Subject::Kind::deployment:
            return "deployment " + name +
                   (subject.part_of.empty()
                        ? ""
                        : fmt::format(" (site {})", printable(subject.part_of)));
        case Subject::Kind::recording:
            return name;
        case Subject::Kind::column:
            return "column " + name;
    }
    return {};
}

std::string sentences(const Finding& finding) {
    return finding.what + (finding.fix.empty() ? "" : " " + finding.fix);
}

std::string one_line(const Finding& finding) {
    const std::string subject = word(finding.subject);
    return fmt::format("{}, {}{}{}: {}", word(finding.severity), word(finding.code),
                       subject.empty() ? "" : ", ", subject, printable(sentences(finding)));
}

void worst_first(std::vector<Finding>& findings) {
    std::stable_sort(findings.begin(), findings.end(),
                     [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
}

std::vector<FindingGroup> grouped_by_code(std::span<const Finding> findings) {
    std::vector<FindingGroup> groups;
    for (const Finding& finding : findings) {
        const auto same =
            std::find_if(groups.begin(), groups.end(), [&](const FindingGroup& group) {
                return group.code == finding.code && group.severity == finding.severity;
            });
        if (same != groups.end())
            same->findings.push_back(&finding);
        else
            groups.push_back({finding.severity, finding.code, {&finding}});
    }
    return groups;
}

namespace {

// Of a group so many subjects are named.
constexpr std::size_t kNamesShown = 4;

/// "40 recordings of K07-1, 3 of K08-1", "D1, D2, D3, D4 and 5 more".
std::string subjects_of(const FindingGroup& group) {
    std::vector<std::string> names;
    std::map<std::string, int> recordings;  // by deployment
    for (const Finding* finding : group.findings) {
        const std::string name = printable(finding->subject.name);
        if (finding->subject.kind == Subject::Kind::recording)
            ++recordings[finding->subject.part_of];
        else if (std::find(names.begin(), names.end(), name) == names.end())
            names.push_back(name);
    }
    bool counting = false;  // "40 recordings of K07-1, 3 of K08-1"
    for (const auto& [deployment, count] : recordings) {
        const std::string name = printable(deployment);
        if (std::find(names.begin(), names.end(), name) != names.end()) continue;
        names.push_back(
            fmt::format("{} of {}", counting ? grouped(count) : counted(count, "recording"), name));
        counting = true;
    }
    if (names.size() <= kNamesShown + 1) return join(names, ", ");
    const std::size_t more = names.size() - kNamesShown;
    names.resize(kNamesShown);
    return fmt::format("{} and {} more", join(names, ", "), more);
}

/// Of a name that would fill the line the end, where a file has its own name.
std::string end_of(const std::string& name) {
    constexpr int kWidest = 70;
    const int length = characters(name);
    if (length <= kWidest) return name;
    const std::string_view before = first_characters(name, length - kWidest + 1);
    return "…" + name.substr(before.size());
}

}  // namespace

std::string entry_of(const FindingGroup& group, int width) {
    const Finding& first = *group.findings.front();
    std::string text = title(group.code);
    if (group.findings.size() == 1) {
        const std::string subject = word(first.subject);
        if (!subject.empty()) text += ", " + end_of(subject);
    } else {
        text += ": " + subjects_of(group);
    }
    const std::string what = sentences(first);
    if (!what.empty()) text += ": " + printable(what);
    return cut(text, width);
}

}  // namespace hearwood

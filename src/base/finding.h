// Something about the survey that a person should know: one type for sheets, cards, recordings,
// coverage, screens and the design, told in one form. What is done about a finding goes by its
// code, never by its words. A finding with a place in a file that the user wrote is a Problem
// (base/error.h).
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/severity.h"

namespace hearwood {

/// What kind of thing was found. word() is stable: tables and docs/findings.md have it.
enum class FindingCode {
    // One recording, by itself or beside the others of its card or deployment.
    damaged,
    unreadable,
    no_start_time,
    clock_reset,
    outside,
    other_rate,
    other_channels,
    other_format,
    other_recorder,
    duplicate,
    overlap,
    gap,
    short_file,
    gone,
    // A deployment.
    missing_folder,
    no_recordings,
    late_start,
    card_full,
    power_lost,
    stopped,
    stuck_schedule,
    missing_hours,
    expected_minutes,
    clock_unchecked,
    wrong_row,
    same_sound,
    unproved,
    dead_microphone,
    other_gain,
    hours_off,
    swapped,
    decision,
    // Screens.
    always_sounds,
    weather_unknown,
    // The design: what else than the stand could make a difference between the classes.
    one_class_blocks,
    unequal_counts,
    recorders_apart,
    own_recorders,
    sample_rate,
    dates,
    hours,
    thin_hours,
    no_value,
    leans,
    visits,
    trails,
    same_class_near,
    other_class_near,
    clumped,
    gain,
    height,
    elevation,
    noise_floor,
    background,
    odd_floor,
    column,
    spread,
    stand,
    // What was worked out before.
    old_result,
};
inline constexpr int kCodeCount = static_cast<int>(FindingCode::old_result) + 1;
/// "card-full".
std::string_view word(FindingCode code);
/// The same in words for a heading: "card full".
std::string title(FindingCode code);

/// What a finding is about. Names are as the sheets have them, paths from the survey folder.
struct Subject {
    enum class Kind { survey, site, deployment, recording, column };
    Kind kind = Kind::survey;
    std::string name = {};
    std::string part_of = {};  ///< of a recording its deployment, of a deployment its site

    static Subject site(std::string name) { return {Kind::site, std::move(name), {}}; }
    static Subject deployment(std::string name, std::string site = {}) {
        return {Kind::deployment, std::move(name), std::move(site)};
    }
    static Subject recording(std::string path, std::string deployment = {}) {
        return {Kind::recording, std::move(path), std::move(deployment)};
    }
    static Subject column(std::string name) { return {Kind::column, std::move(name), {}}; }
    bool operator==(const Subject&) const = default;
};
/// "site K07", "deployment K07-1 (site K07)", a recording's path; empty for the survey.
std::string word(const Subject& subject);

struct Finding {
    Severity severity = Severity::note;
    FindingCode code{};
    Subject subject = {};
    std::string what = {};  ///< what was seen and how bad it is, in sentences
    std::string fix = {};   ///< what to do, a sentence; may be empty
};

/// "serious, card-full, deployment K07-1 (site K07): What. Fix." Harmless on a terminal.
std::string one_line(const Finding& finding);
/// "What. Fix." for where the rest stands beside it.
std::string sentences(const Finding& finding);

/// The worst first, else in the order given.
void worst_first(std::vector<Finding>& findings);

/// Findings of one code and severity.
struct FindingGroup {
    Severity severity;
    FindingCode code;
    std::vector<const Finding*> findings;  ///< in the order given, never empty
};
/// In the order of each group's first finding. The findings must outlive the groups.
std::vector<FindingGroup> grouped_by_code(std::span<const Finding> findings);

/// One entry for all of a group, at most so many characters: who is concerned, and the sentences of
/// the first of them. Harmless on a terminal.
std::string entry_of(const FindingGroup& group, int width);

}  // namespace hearwood

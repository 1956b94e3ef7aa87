#include "aggregate/applied_steps.h"

#include <fmt/core.h>

#include <tuple>

#include "aggregate/table_fields.h"
#include "base/text.h"
#include "survey/too_loud.h"

namespace hearwood {

namespace {

constexpr const char* kKinds[] = {"silenced",      "gone",      "unreadable",
                                  "no_start_time", "duplicate", "clock_reset",
                                  "same_sound",    "screen",    "always_sounds"};
constexpr const char* kAlwaysSounds = kKinds[8];
constexpr const char* kWrongRow = "wrong_row";

}  // namespace

TableOf<AppliedStep> decisions_applied_table() {
    using Step = AppliedStep;
    TableOf<Step> table("decisions_applied.csv", "decisions applied",
                        "A row is a decision of decisions.csv, or an automatic step that changes "
                        "which data count.");
    const auto text = [](const char* name, const char* title, const char* meaning) {
        return text_field(name, title, meaning);
    };
    table
        .column(text("date", "date", "when it was decided, as in decisions.csv; empty: automatic"),
                &Step::date)
        .column(text("decision", "decision",
                     "as in decisions.csv; of an automatic step: silenced, gone, unreadable, "
                     "no_start_time, duplicate, clock_reset, same_sound (left out), screen "
                     "(excludes segments at a site), "
                     "wrong_row (a site or deployment whose row is wrong), "
                     "always_sounds (a screen that fires on nearly all of a site excludes nothing "
                     "there)"),
                &Step::decision)
        .column(text("subject", "subject", "site, deployment or recording that it concerns"),
                &Step::subject)
        .column(text("from", "from", "as in decisions.csv"), &Step::from)
        .column(text("to", "to", "as in decisions.csv"), &Step::to)
        .column(text("value", "value", "as in decisions.csv; of an automatic step the screen"),
                &Step::value)
        .column(text("reason", "reason", "why"), &Step::reason)
        .column(text("by", "by", "who decided it, as in decisions.csv"), &Step::by)
        .column(flag_field("automatic", "automatic",
                           "1: done by the program itself; 0: a row of decisions.csv"),
                &Step::automatic)
        .column(
            count_field("recordings", "recordings",
                        "recordings that it concerns, wholly or in part; 0 of a wrong_row, whose "
                        "recordings are not looked at"),
            &Step::recordings)
        .column(count_field("segments", "segments",
                            "segments that it concerns, each channel by itself; 0 where "
                            "recordings are left out before they are cut up"),
                &Step::segments);
    return table;
}

StepCounter::StepCounter(const Survey& survey)
    : survey_(survey), decisions_(survey.decisions.size()), counted_(survey.decisions.size()) {}

void StepCounter::count_decision(std::size_t decision) {
    if (!counted_[decision]) ++decisions_[decision].recordings;
    counted_[decision] = true;
    ++decisions_[decision].segments;
}

void StepCounter::count(Kind kind, const std::string& subject, const std::string& value) {
    ++automatic_[{kind, {subject, value}}].segments;
}

void StepCounter::begin_deployment(std::size_t deployment,
                                   std::span<const KnownRecording> recordings) {
    const std::string& name = survey_.deployments[deployment].name;
    const auto left_out = [&](Kind kind) { ++automatic_[{kind, {name, ""}}].recordings; };
    for (const KnownRecording& r : recordings) {
        if (r.row.gone)
            left_out(Kind::gone);
        else if (r.row.state == RecordingState::unreadable)
            left_out(Kind::unreadable);
        else if (r.row.state == RecordingState::no_start_time)
            left_out(Kind::no_start_time);
        else if (r.has(Oddity::duplicate))
            left_out(Kind::duplicate);
        else if (r.has(Oddity::clock_reset))
            left_out(Kind::clock_reset);
    }
}

void StepCounter::begin_recording(const KnownRecording&) {
    counted_.assign(counted_.size(), false);
}

void StepCounter::segment(const JudgedSegment& segment) {
    const Deployment& deployment = survey_.deployments[segment.deployment];
    const Judgement& judgement = segment.judgement;
    for (std::size_t i = 0; i < survey_.decisions.size(); ++i) {
        const Decision& decision = survey_.decisions[i];
        const bool of_deployment = decision.deployment == segment.deployment;
        const bool concerned = decision.kind == Decision::Kind::leave_out ? segment.left_out_by == i
                               : decision.kind == Decision::Kind::clock
                                   ? segment.recording->clock_decision == i
                               : decision.kind == Decision::Kind::keep
                                   ? decision.site == segment.site &&
                                         (decision.screen == kTooLoud ||
                                          judgement.flags.has(*reason_named(decision.screen)))
                                   : of_deployment;
        if (concerned) count_decision(i);
    }
    if (segment.left_out_by) return;
    if (judgement.reasons.has(Reason::silenced)) return count(Kind::silenced, deployment.name, "");
    if (segment.recording->has(Oddity::clock_reset))
        return count(Kind::clock_reset, deployment.name, "");
    const std::string& site = survey_.sites[segment.site].name;
    if (judgement.reasons.has(Reason::same_sound)) return count(Kind::same_sound, site, "");
    for (int r = 0; r < kScreenCount; ++r) {
        const auto reason = static_cast<Reason>(r);
        if (judgement.reasons.has(reason)) count(Kind::screen, site, name_of(reason));
        if (segment.doubted.has(reason) && judgement.flags.has(reason))
            count(Kind::always_sounds, site, name_of(reason));
    }
}

const char* StepCounter::reason_of(Kind kind) {
    switch (kind) {
        case Kind::silenced:
            return "a voice was silenced in them";
        case Kind::gone:
            return "no longer in the deployment's folder";
        case Kind::unreadable:
            return "nothing of them can be read";
        case Kind::no_start_time:
            return "neither name nor header says when they began";
        case Kind::duplicate:
            return "the same recording as another of the deployment";
        case Kind::clock_reset:
            return "the recorder's clock lost its time";
        case Kind::same_sound:
            return "another site has the same recordings, and whose they are is not known";
        case Kind::screen:
            return "the screen fired, and [screen] says that it excludes";
        case Kind::always_sounds:
            return "the screen fires on nearly all segments of the site and excludes nothing there";
    }
    return "";
}

std::vector<AppliedStep> StepCounter::steps() const {
    std::vector<AppliedStep> steps;
    for (std::size_t i = 0; i < decisions_.size(); ++i) {
        const Decision& d = survey_.decisions[i];
        steps.push_back({d.date, name_of(d.kind), d.subject, d.from, d.to, d.value, d.reason, d.by,
                         false, decisions_[i].recordings, decisions_[i].segments});
    }
    for (const LeftOutRow& row : survey_.left_out) {
        AppliedStep step;
        step.decision = kWrongRow;
        step.subject = row.name;
        step.reason = row.why;
        step.automatic = true;
        steps.push_back(std::move(step));
    }
    for (const auto& [key, count] : automatic_) {
        AppliedStep step;
        step.decision = kKinds[static_cast<int>(key.first)];
        std::tie(step.subject, step.value) = key.second;
        step.reason = reason_of(key.first);
        step.automatic = true;
        step.recordings = count.recordings;
        step.segments = count.segments;
        steps.push_back(std::move(step));
    }
    return steps;
}

std::vector<Finding> findings_of_decisions(const Survey& survey) {
    std::vector<Finding> findings;
    for (const Decision& decision : survey.decisions) {
        Subject subject =
            decision.site ? Subject::site(decision.subject)
            : decision.kind == Decision::Kind::leave_out && !decision.recording.empty()
                ? Subject::recording(decision.recording)
                : Subject::deployment(decision.subject);
        findings.push_back({Severity::note, FindingCode::decision, std::move(subject),
                            fmt::format("By decision{}{}, {}: {}.",
                                        decision.date.empty() ? "" : " of " + decision.date,
                                        decision.by.empty() ? "" : " by " + decision.by,
                                        in_words(decision), decision.reason),
                            "Take its row out of decisions.csv to undo it."});
    }
    return findings;
}

std::vector<Finding> findings_of_wrong_rows(const Survey& survey) {
    std::vector<Finding> findings;
    for (const LeftOutRow& row : survey.left_out)
        findings.push_back({Severity::serious, FindingCode::wrong_row,
                            row.is_site ? Subject::site(row.name) : Subject::deployment(row.name),
                            fmt::format("Left out: {}.", row.why),
                            "Until the row is right it does not count."});
    return findings;
}

std::string left_out_in_words(const Survey& survey) {
    std::string text;
    for (const bool sites : {true, false}) {
        std::vector<std::string> names;
        for (const LeftOutRow& row : survey.left_out)
            if (row.is_site == sites)
                names.push_back(row.name.empty() ? "one without a name" : row.name);
        if (names.empty()) continue;
        const char* one = sites ? "site" : "deployment";
        text += fmt::format("{}{}{} {}", text.empty() ? "" : "; ", one,
                            names.size() == 1 ? "" : "s", join(names, ", "));
    }
    return text;
}

std::string steps_in_words(const Survey& survey, std::span<const AppliedStep> steps) {
    std::string text;
    for (const Decision& decision : survey.decisions)
        text += fmt::format("{} {} ({})", text.empty() ? "Decisions about the data:" : ";",
                            in_words(decision), decision.reason);
    if (!text.empty()) text += ". ";
    if (const std::string left_out = left_out_in_words(survey); !left_out.empty())
        text += fmt::format("Left out, for their rows in the sheets were wrong: {}. ", left_out);
    std::map<std::string, std::int64_t> left_out, segments_out;
    std::vector<std::string> sounding;
    for (const AppliedStep& step : steps) {
        if (!step.automatic) continue;
        if (step.recordings > 0) left_out[step.decision] += step.recordings;
        if (step.segments > 0) segments_out[step.decision] += step.segments;
        if (step.decision == kAlwaysSounds)
            sounding.push_back(fmt::format("{} at {}", step.value, step.subject));
    }
    std::vector<std::string> parts;
    for (const auto& [kind, words] : {std::pair{"unreadable", "that could not be read"},
                                      {"no_start_time", "without a start time"},
                                      {"duplicate", "that stood there twice"},
                                      {"clock_reset", "of a clock that had lost its time"}})
        if (left_out.contains(kind))
            parts.push_back(fmt::format("{} {}", counted(left_out[kind], "recording"), words));
    for (const auto& [kind, words] : {std::pair{"silenced", "in which a voice was silenced"},
                                      {"same_sound", "that two sites had alike"}})
        if (segments_out.contains(kind))
            parts.push_back(fmt::format("{} {}", counted(segments_out[kind], "segment"), words));
    if (!parts.empty()) text += fmt::format("Left out automatically: {}. ", join(parts, ", "));
    if (!sounding.empty())
        text +=
            fmt::format("Screens that fired on nearly all of a site excluded nothing there: {}. ",
                        join(sounding, ", "));
    return text;
}

}  // namespace hearwood

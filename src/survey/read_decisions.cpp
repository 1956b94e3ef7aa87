// decisions.csv.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/text.h"
#include "survey/sheets.h"
#include "survey/too_loud.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

using Kind = Decision::Kind;

constexpr std::array kKinds{Kind::leave_out, Kind::clock, Kind::belongs_to, Kind::sample_rate,
                            Kind::keep};
/// As recordings that can be opened have them.
constexpr int kLowestRate = 1'000, kHighestRate = 1'000'000;
constexpr std::string_view kExcludes = "_excludes";

/// "clipped", "dead" ...: what [screen] can be told not to exclude.
std::vector<std::string> screens() {
    std::vector<std::string> names;
    for (const SettingSection& section : setting_sections())
        for (const SettingKey& key : section.keys)
            if (section.name == std::string_view("screen") &&
                std::string_view(key.name).ends_with(kExcludes))
                names.push_back(
                    std::string(key.name, std::string_view(key.name).size() - kExcludes.size()));
    return names;
}

template <class Row>
std::vector<std::string> names_of(const std::vector<Row>& rows) {
    std::vector<std::string> names;
    for (const Row& row : rows) names.push_back(row.name);
    return names;
}

std::optional<std::size_t> place_of(const std::vector<std::string>& names,
                                    const std::string& name) {
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end()) return {};
    return static_cast<std::size_t>(found - names.begin());
}

class DecisionRows {
  public:
    DecisionRows(Survey& survey, const Sheet& sheet, std::vector<Problem>& problems)
        : survey_(survey),
          sheet_(sheet),
          problems_(problems),
          zone_(Zone::find(survey.time_zone).value_or(Zone())),
          sites_(names_of(survey.sites)),
          deployments_(names_of(survey.deployments)) {}

    void add(const SheetRow& row) {
        row_ = &row;
        const std::size_t before = problems_.size();
        Decision made;
        made.line = row.line;
        made.date = cell("date");
        made.subject = cell("subject");
        made.from = cell("from");
        made.to = cell("to");
        made.value = cell("value");
        made.reason = cell("reason");
        made.by = cell("by");
        if (!read_kind(made)) return;
        if (made.reason.empty())
            refuse("reason", "a decision without a reason is not taken",
                   "say why in a few words: they stand in the methods");
        if (!made.date.empty() && !parse_date(made.date) && !parse_local_time(made.date))
            refuse("date", "not a date", "write it as 2031-05-04");
        read_subject(made);
        if (problems_.size() == before) read_value(made);
        if (problems_.size() == before) refuse_overlap(made);
        if (problems_.size() == before) survey_.decisions.push_back(std::move(made));
    }

  private:
    std::string cell(const char* name) const {
        const auto column = sheet_.column(name);
        return column ? row_->cells[*column] : std::string();
    }

    void refuse(const char* name, std::string what, std::string fix) {
        if (const auto column = sheet_.column(name))
            problems_.push_back(
                sheet_problem(sheet_, *row_, *column, std::move(what), std::move(fix)));
        else
            problems_.push_back({.file = sheet_.file,
                                 .line = row_->line,
                                 .field = name,
                                 .what = std::move(what),
                                 .fix = std::move(fix)});
    }

    /// The nearest of these names, or all of them.
    static std::string offer(const std::string& name, const std::vector<std::string>& names,
                             const std::string& otherwise) {
        const auto near = nearest(name, names);
        return near ? fmt::format("did you mean '{}'?", *near) : otherwise;
    }

    bool read_kind(Decision& made) {
        const std::string word = cell("decision");
        std::vector<std::string> words;
        for (const Kind kind : kKinds) {
            words.push_back(name_of(kind));
            if (word == words.back()) made.kind = kind;
        }
        if (std::find(words.begin(), words.end(), word) != words.end()) return true;
        refuse("decision", word.empty() ? "this field is empty" : "there is no such decision",
               offer(word, words, "the decisions are " + join(words, ", ")));
        return false;
    }

    void read_subject(Decision& made) {
        const std::string& subject = made.subject;
        if (subject.empty()) return refuse("subject", "this field is empty", "say of what");
        if (made.kind == Kind::keep || made.kind == Kind::leave_out)
            made.site = place_of(sites_, subject);
        if (made.kind != Kind::keep && !made.site)
            made.deployment = place_of(deployments_, subject);
        if (made.site || made.deployment) return;
        if (made.kind == Kind::keep)
            refuse("subject", "sites.csv has no such site",
                   offer(subject, sites_, "name a site of sites.csv"));
        else if (made.kind != Kind::leave_out)
            refuse("subject", "deployments.csv has no such deployment",
                   offer(subject, deployments_, "name a deployment of deployments.csv"));
        else if (!read_recording(subject, made))
            refuse("subject", "neither a site nor a deployment, nor a recording of one",
                   offer_any(subject));
    }

    /// A path below a deployment's folder. Whether such a file is known is found out by who knows
    /// files.
    bool read_recording(const std::string& path, Decision& made) const {
        for (std::size_t d = 0; d < survey_.deployments.size(); ++d) {
            const std::string folder = name_to_utf8(survey_.deployments[d].folder) + "/";
            if (folder.size() == 1 || !path.starts_with(folder) || path == folder) continue;
            made.deployment = d;
            made.recording = path;
            return true;
        }
        return false;
    }

    std::string offer_any(const std::string& subject) const {
        std::vector<std::string> names = sites_;
        names.insert(names.end(), deployments_.begin(), deployments_.end());
        const std::size_t slash = subject.rfind('/');
        if (slash != std::string::npos) {
            names.clear();
            for (const Deployment& deployment : survey_.deployments)
                names.push_back(name_to_utf8(deployment.folder) + subject.substr(slash));
        }
        return offer(subject, names,
                     "name a site, a deployment, or a recording by its path as in segments.csv");
    }

    void read_value(Decision& made) {
        switch (made.kind) {
            case Kind::leave_out:
                unused("value", made.value, made.kind);
                return read_absence(made);
            case Kind::clock:
                unused("to", made.to, made.kind);
                return read_clock(made);
            case Kind::belongs_to:
                no_times(made);
                return read_stand_in(made);
            case Kind::sample_rate:
                no_times(made);
                return read_rate(made);
            case Kind::keep:
                no_times(made);
                return read_screen(made);
        }
    }

    void read_absence(Decision& made) {
        made.begins = read_time("from", made.from);
        made.ends = read_time("to", made.to);
        if (made.begins && made.ends && *made.ends <= *made.begins)
            refuse("to", fmt::format("ends before it begins ({})", made.from),
                   "`from` is included, `to` excluded");
    }

    void read_stand_in(Decision& made) {
        made.stands_in = place_of(deployments_, made.value);
        if (!made.stands_in)
            refuse("value", "deployments.csv has no such deployment",
                   offer(made.value, deployments_, "name the deployment they belong to"));
        else if (made.stands_in == made.deployment)
            refuse("value", "this is the deployment itself",
                   "name the deployment they belong to, or take the row out");
    }

    void read_rate(Decision& made) {
        const auto rate = parse_integer(made.value);
        if (rate && *rate >= kLowestRate && *rate <= kHighestRate)
            made.sample_rate = static_cast<int>(*rate);
        else
            refuse("value", fmt::format("a rate runs from {} to {} Hz", kLowestRate, kHighestRate),
                   "write it in hertz, such as 24000");
    }

    void read_screen(Decision& made) {
        made.screen = made.value;
        std::vector<std::string> names = screens();
        names.emplace_back(kTooLoud);
        if (!place_of(names, made.value))
            refuse("value", "there is no such screen",
                   offer(made.value, names, "write one of " + join(names, ", ")));
    }

    void no_times(const Decision& made) {
        unused("from", made.from, made.kind);
        unused("to", made.to, made.kind);
    }

    void unused(const char* name, const std::string& value, Kind kind) {
        if (!value.empty())
            refuse(name, fmt::format("{} takes no '{}'", name_of(kind), name),
                   "leave the field empty");
    }

    std::optional<LocalTime> read_time(const char* name, const std::string& text) {
        if (text.empty()) return {};
        std::optional<LocalTime> time = parse_local_time(text);
        if (const auto date = parse_date(text)) time = LocalTime(*date);
        if (!time)
            refuse(name, "not a date and time of the local clock",
                   "write it as 2031-05-04 17:30; format the spreadsheet's column as text");
        else if (zone_.fit(*time) == Zone::Fit::nonexistent)
            refuse(name, fmt::format("the clock of {} jumped over this time", survey_.time_zone),
                   "look up what the clock showed");
        return time;
    }

    void read_clock(Decision& made) {
        if (made.value.empty())
            refuse("value", "the true start is not there", "write it as 2031-05-04 17:30");
        made.true_start = read_time("value", made.value);
        if (made.from.empty()) return;
        const std::string folder = name_to_utf8(survey_.deployments[*made.deployment].folder) + "/";
        made.recording = made.from.starts_with(folder) ? made.from : folder + made.from;
    }

    /// True when both say something of the same recordings, so that one of them would do nothing or
    /// either could be meant.
    bool overlap(const Decision& a, const Decision& b) const {
        if (a.kind != b.kind) return false;
        switch (a.kind) {
            case Kind::leave_out:
                return (!a.ends || !b.begins || *b.begins < *a.ends) &&
                       (!b.ends || !a.begins || *a.begins < *b.ends) &&
                       (covers(a, b) || covers(b, a));
            case Kind::clock:
                return a.deployment == b.deployment && a.recording == b.recording;
            case Kind::belongs_to:
            case Kind::sample_rate:
                return a.deployment == b.deployment;
            case Kind::keep:
                return a.site == b.site && a.screen == b.screen;
        }
        return false;
    }

    /// True when the subject of `small` is part of that of `large`.
    bool covers(const Decision& large, const Decision& small) const {
        if (large.site)
            return small.site ? small.site == large.site
                              : survey_.deployments[*small.deployment].site == *large.site;
        return small.deployment == large.deployment &&
               (large.recording.empty() || large.recording == small.recording);
    }

    void refuse_overlap(const Decision& made) {
        for (const Decision& other : survey_.decisions)
            if (overlap(made, other))
                return refuse(
                    "subject",
                    fmt::format("line {} decides this already ({})", other.line, in_short(other)),
                    "make one row of the two");
    }

    Survey& survey_;
    const Sheet& sheet_;
    std::vector<Problem>& problems_;
    Zone zone_;
    std::vector<std::string> sites_, deployments_;
    const SheetRow* row_ = nullptr;
};

}  // namespace

void read_decisions(Survey& survey, std::vector<Problem>& problems) {
    const auto path = survey.folder / kDecisionsFile;
    std::error_code ignored;
    if (!std::filesystem::exists(path, ignored)) return;
    const Sheet sheet = read_sheet(path, kDecisionsFile, problems);
    if (sheet.header_line == 0) return;
    warn_of_near_columns(sheet, known_decision_columns(), problems);
    const bool all = require_column(sheet, "decision", "which says what is done", problems) &&
                     require_column(sheet, "subject", "which says of what", problems) &&
                     require_column(sheet, "reason", "which says why", problems);
    if (!all) return;
    DecisionRows rows(survey, sheet, problems);
    for (const SheetRow& row : sheet.rows) rows.add(row);
}

}  // namespace hearwood

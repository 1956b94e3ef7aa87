#include "plan/printed.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "base/html_template.h"
#include "base/lines.h"
#include "base/text.h"
#include "survey/columns.h"
#include "survey/windows.h"
#include "words/printed_page.h"

namespace hearwood {

namespace {

// In characters, so that the page keeps its length.
constexpr int kLongestNote = 160;
constexpr int kLongestName = 60;  // in titles: two lines

std::string coordinates(const Site& site) {
    return fmt::format("{:.5f}\u00B0 {}, {:.5f}\u00B0 {}", std::abs(site.latitude),
                       site.latitude < 0 ? 'S' : 'N', std::abs(site.longitude),
                       site.longitude < 0 ? 'W' : 'E');
}

/// Writes the pages of one survey.
class Pages {
  public:
    Pages(const Survey& survey, const Words& words)
        : survey_(survey),
          parts_(survey),
          words_(words),
          sheet_(in_language(kDeploymentSheetTemplate, words)),
          common_(in_language(kSheetTemplate, words)) {}

    /// `head`: "Deployment sheet 3 of 12".
    Html of(const Visit& visit, const std::string& schedule, const std::string& head) const {
        const Site& site = survey_.sites[visit.site];
        const std::string name = of_deployment(visit, "deployment");
        const std::string heading =
            name.empty() ? words_.say("sheet.site_heading", {{"site", site.name}}) : name;
        const char* mark = site.stand == survey_.stands.class_a   ? "mark a"
                           : site.stand == survey_.stands.class_b ? "mark b"
                                                                  : "mark";
        return sheet_.fill(
            "page", {{"survey", cut(survey_.title, kLongestName)},
                     {"head", head},
                     {"heading", cut(heading, kLongestName)},
                     {"mark", mark},
                     {"factor", survey_.stands.factor},
                     {"stand", cut(site.stand, kLongestName)},
                     {"where", where(visit)},
                     {"local_time", words_.say("sheet.local_time", {{"zone", survey_.time_zone}})},
                     {"when", when(visit, schedule)},
                     {"sun", sun(visit)},
                     {"notes", cut(of_deployment(visit, "notes"), kLongestNote)},
                     {"unchecked", unchecked_note(words_)}});
    }

  private:
    std::string of_site(const Visit& visit, const std::string& column) const {
        return std::string(cell_in(survey_.sites[visit.site], survey_, column));
    }
    std::string of_deployment(const Visit& visit, const std::string& column) const {
        if (!visit.deployment) return "";
        return std::string(cell_in(survey_.deployments[*visit.deployment], survey_, column));
    }

    Html fact(WordKey label, const std::string& value, const char* unit = "") const {
        return fact_row(common_, words_.say(label),
                        value.empty() ? value : cut(value, kLongestNote) + unit);
    }

    Html where(const Visit& visit) const {
        const Site& site = survey_.sites[visit.site];
        std::string trail = of_site(visit, "trail");
        const std::string metres = of_site(visit, "trail_m");
        if (!trail.empty() && !metres.empty())
            trail = words_.say("sheet.trail_at", {{"trail", trail}, {"metres", metres}});
        return fact("sheet.site", site.name) +
               fact("sheet.recorder", of_deployment(visit, "recorder")) +
               fact("sheet.coordinates", coordinates(site)) +
               fact("sheet.elevation", of_site(visit, "elevation_m"), " m") +
               fact("sheet.trail", trail) +
               fact("sheet.block", site.block.empty() ? of_site(visit, "block") : site.block) +
               fact("sheet.folder", of_deployment(visit, "folder")) +
               fact("sheet.site_notes", of_site(visit, "notes"));
    }

    Html when(const Visit& visit, const std::string& schedule) const {
        return fact("sheet.set_up", of_deployment(visit, "start")) +
               fact("sheet.take_in", of_deployment(visit, "end")) +
               fact("sheet.schedule", schedule) + fact("sheet.clock", clock(visit));
    }

    Html sun_row(std::size_t site, std::chrono::local_days date) const {
        const SunTimes sun = parts_.sun(site, date);
        const auto dawn = window_named(survey_.windows, "dawn");
        const auto span = dawn ? parts_.span(site, date, *dawn) : std::nullopt;
        const std::string window = span ? nearest_minute(span->from, parts_.zone()) + "\u2013" +
                                              nearest_minute(span->to, parts_.zone())
                                        : "-";
        return sheet_.fill("sun row", {{"date", format_date(date)},
                                       {"sunrise", nearest_minute(sun.sunrise, parts_.zone())},
                                       {"sunset", nearest_minute(sun.sunset, parts_.zone())},
                                       {"dawn", window}});
    }

    Html sun(const Visit& visit) const {
        const Html first = sun_row(visit.site, visit.first);
        return visit.last == visit.first ? first : first + sun_row(visit.site, visit.last);
    }

    /// What the recorder's clock must show, as a name and as an offset that a recorder asks for.
    std::string clock(const Visit& visit) const {
        std::string name = of_deployment(visit, "clock");
        if (name.empty()) name = survey_.time_zone;
        const auto zone = Zone::find(name);
        if (!zone) return name;
        if (zone->name() == "UTC") return "UTC";
        const auto noon = zone->to_utc(LocalTime(visit.first) + std::chrono::hours(12));
        const std::string iso = format_iso(noon, *zone);
        const std::string offset = "UTC" + iso.substr(iso.find_first_of("+-", 11));
        return name.find('/') == std::string::npos ? offset : name + ", " + offset;
    }

    const Survey& survey_;
    const DayParts parts_;
    const Words& words_;
    const HtmlTemplate sheet_, common_;
};

}  // namespace

std::string deployment_sheet_html(const Survey& survey, const std::vector<Visit>& visits,
                                  const std::vector<std::string>& schedules) {
    const Words words(survey.language);
    const Pages pages(survey, words);
    Html all;
    for (std::size_t i = 0; i < visits.size(); ++i)
        all += pages.of(visits[i], schedules.at(i),
                        words.say("sheet.head", {{"number", std::to_string(i + 1)},
                                                 {"total", std::to_string(visits.size())}}));
    return printed_document(words, words.say("sheet.title", {{"survey", survey.title}}),
                            all + trial_page(survey, words))
        .text();
}

namespace {

/// A number with a sign is written as a number: as a text it would get an apostrophe against
/// formulas.
TableCell sheet_cell(const std::string& text) {
    const auto number = parse_number(text);
    const bool is_signed = !text.empty() && (text[0] == '-' || text[0] == '+');
    if (number && is_signed) return *number;
    return text;
}

}  // namespace

TableOf<Visit> deployment_sheet_table(const Survey& survey) {
    constexpr std::array kBlanks{"organic_depth_cm", "root_mat_cm", "mineral_texture", "hazards"};
    TableOf<Visit> table("deployment-sheet.csv", "deployment sheet",
                         "A row is a visit: filled in and saved as deployments.csv it loads.");
    const auto add = [&](const std::string& name, const std::string& unit,
                         const std::string& meaning) {
        if (name.empty()) return;
        for (const TableField& there : table.description().fields)
            if (there.name == name) return;
        table.column(name, unit, meaning, [&survey, name](const Visit& visit) -> TableCell {
            if (visit.deployment)
                return sheet_cell(
                    std::string(cell_in(survey.deployments[*visit.deployment], survey, name)));
            if (name == "site") return survey.sites[visit.site].name;
            return {};
        });
    };
    for (const KnownColumn& column : known_deployment_columns())
        add(column.name, column.unit, column.meaning);
    for (const std::string& own : survey.deployment_columns)
        add(own, "", "the survey's own column");
    for (const char* blank : kBlanks) add(blank, "", "to be filled in at the site");
    return table;
}

void write_deployment_csv(const Survey& survey, const std::vector<Visit>& visits,
                          const std::filesystem::path& path) {
    write_table(deployment_sheet_table(survey), visits, path);
}

namespace {

Html label(const HtmlTemplate& labels, const Survey& survey, const Visit& visit,
           const std::string& what) {
    const std::string& site = survey.sites[visit.site].name;
    std::string name = site, recorder;
    if (visit.deployment) {
        name = survey.deployments[*visit.deployment].name;
        recorder = survey.deployments[*visit.deployment].recorder;
    }
    return labels.fill("label", {{"what", what},
                                 {"survey", survey.title},
                                 {"name", name},
                                 {"site", site},
                                 {"recorder", recorder.empty() ? "........" : recorder},
                                 {"from", format_date(visit.first)}});
}

}  // namespace

std::string labels_html(const Survey& survey, const std::vector<Visit>& visits,
                        const std::vector<std::size_t>& sites) {
    const HtmlTemplate labels(kLabelsTemplate);
    Html all;
    for (const std::size_t site : sites)
        for (const Visit& visit : visits)
            if (visit.site == site)
                all +=
                    label(labels, survey, visit, "recorder") + label(labels, survey, visit, "card");
    return labels.fill("document", {{"labels", all}}).text();
}

namespace {

constexpr int kLongest = 160;    // characters of a text of the survey's
constexpr int kPlacesRoom = 80;  // letters of places that two lines hold, and how many more

/// What the sheets know of the whole survey; empty where they do not know it.
struct KnownOfSurvey {
    std::vector<std::string> places;
    std::string first_day, last_day;
};

KnownOfSurvey known_of(const Survey& survey, const std::vector<Visit>& visits) {
    KnownOfSurvey known;
    std::set<std::size_t> seen;
    for (const Visit& visit : visits)
        if (seen.insert(visit.site).second) known.places.push_back(survey.sites[visit.site].name);
    if (!visits.empty()) {
        const auto by_first = [](const Visit& a, const Visit& b) { return a.first < b.first; };
        const auto by_last = [](const Visit& a, const Visit& b) { return a.last < b.last; };
        known.first_day =
            format_date(std::min_element(visits.begin(), visits.end(), by_first)->first);
        known.last_day = format_date(std::max_element(visits.begin(), visits.end(), by_last)->last);
    }
    return known;
}

/// The one for all; empty, for a line to write on, where there are several.
std::string common_schedule(const std::vector<std::string>& schedules) {
    return std::set<std::string>(schedules.begin(), schedules.end()).size() == 1 ? schedules.front()
                                                                                 : std::string();
}

std::string places_of(const KnownOfSurvey& known, const Words& words) {
    std::size_t named = 0, letters = 0;
    for (const std::string& place : known.places) {
        letters += place.size() + 2;
        if (named > 0 && letters > std::size_t{kPlacesRoom}) break;
        ++named;
    }
    const std::string list = cut(join(std::span(known.places).first(named), ", "), kPlacesRoom);
    if (named == known.places.size()) return list;
    return words.say("notice.more_places",
                     {{"places", list}, {"more", grouped(known.places.size() - named)}});
}

Html notice_page(const Survey& survey, const KnownOfSurvey& known, const std::string& schedule,
                 const Words& words) {
    const HtmlTemplate notice = in_language(kNoticeTemplate, words);
    const HtmlTemplate common = in_language(kSheetTemplate, words);
    const auto fact = [&](WordKey label, const std::string& value) {
        return fact_row(common, words.say(label), cut(value, kLongest));
    };
    return notice.fill("page",
                       {{"language", std::string(words.code())},
                        {"why", words.say("notice.why", {{"survey", cut(survey.title, kLongest)}})},
                        {"where", fact("notice.places", places_of(known, words)) +
                                      fact("notice.first_day", known.first_day) +
                                      fact("notice.last_day", known.last_day)},
                        {"schedule", fact("sheet.schedule", schedule)},
                        {"unchecked", unchecked_note(words)}});
}

}  // namespace

std::string consent_notice_html(const Survey& survey, const std::vector<Visit>& visits,
                                const std::vector<std::string>& schedules,
                                const std::vector<std::string>& english_schedules) {
    const Words words(survey.language), english("en");
    const KnownOfSurvey known = known_of(survey, visits);
    Html pages = notice_page(survey, known, common_schedule(schedules), words);
    if (words.code() != english.code())
        pages += notice_page(survey, known, common_schedule(english_schedules), english);
    return printed_document(words, std::string(words.say("notice.title")), pages).text();
}

namespace {

constexpr int kRows = 21;  // seven sites at three distances; the page keeps its length

}  // namespace

Html trial_page(const Survey& survey, const Words& words) {
    const HtmlTemplate sheet = in_language(kTrialSheetTemplate, words);
    Html rows;
    for (int row = 0; row < kRows; ++row) rows += sheet.fill("row");
    return sheet.fill("page",
                      {{"local_time", words.say("sheet.local_time", {{"zone", survey.time_zone}})},
                       {"rows", rows},
                       {"unchecked", unchecked_note(words)}});
}

}  // namespace hearwood

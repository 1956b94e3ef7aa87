#include "plan/deployment_sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/lines.h"
#include "base/text.h"
#include "plan/templates.h"
#include "plan/trial_sheet.h"
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

}  // namespace hearwood

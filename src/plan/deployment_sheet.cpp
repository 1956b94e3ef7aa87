#include "plan/deployment_sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/lines.h"
#include "base/text.h"
#include "plan/sheet_style.h"
#include "survey/columns.h"
#include "survey/windows.h"

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

/// Writes one page; knows the survey, the visit and nothing of the others.
class Page {
  public:
    Page(const Survey& survey, const DayParts& parts) : survey_(survey), parts_(parts) {}

    /// `number`: "3 of 12".
    std::string of(const Visit& visit, const std::string& schedule, const std::string& number) {
        visit_ = &visit;
        html_.clear();
        html_ += "<section class=\"page\">\n";
        head(number);
        where();
        when(schedule);
        checks();
        soil();
        hazards();
        notes();
        html_ += "</section>\n";
        return std::move(html_);
    }

  private:
    const Site& site() const { return survey_.sites[visit_->site]; }
    std::string of_site(const std::string& column) const {
        return std::string(cell_in(site(), survey_, column));
    }
    std::string of_deployment(const std::string& column) const {
        if (!visit_->deployment) return "";
        return std::string(cell_in(survey_.deployments[*visit_->deployment], survey_, column));
    }

    void head(const std::string& number) {
        html_ += fmt::format(
            "<div class=\"head\"><span>{}</span><span>Deployment sheet {}</span></div>\n",
            escape_html(cut(survey_.title, kLongestName)), number);
        const std::string name = of_deployment("deployment");
        html_ += fmt::format(
            "<h1>{}</h1>\n",
            escape_html(cut(name.empty() ? "Site " + site().name : name, kLongestName)));
        const char* mark = site().stand == survey_.stands.class_a   ? " a"
                           : site().stand == survey_.stands.class_b ? " b"
                                                                    : "";
        html_ += fmt::format("<p class=\"stand\"><span class=\"mark{}\"></span>{}: {}</p>\n", mark,
                             escape_html(survey_.stands.factor),
                             escape_html(cut(site().stand, kLongestName)));
    }

    /// A fact of the sheets; a line to write on where it is not known.
    void fact(const char* label, const std::string& value, const char* unit = "") {
        if (value.empty())
            html_ += fmt::format("<dt>{}</dt><dd class=\"open\"></dd>\n", label);
        else
            html_ += fmt::format("<dt>{}</dt><dd>{}{}</dd>\n", label,
                                 escape_html(cut(value, kLongestNote)), unit);
    }

    void where() {
        html_ += "<dl class=\"facts\">\n";
        fact("site", site().name);
        fact("recorder", of_deployment("recorder"));
        fact("coordinates", coordinates(site()));
        fact("elevation", of_site("elevation_m"), " m");
        std::string trail = of_site("trail");
        const std::string metres = of_site("trail_m");
        if (!trail.empty() && !metres.empty()) trail += ", at " + metres + " m";
        fact("trail", trail);
        fact("block", site().block.empty() ? of_site("block") : site().block);
        fact("folder", of_deployment("folder"));
        fact("site notes", of_site("notes"));
        html_ += "</dl>\n";
    }

    void sun_row(std::chrono::local_days date) {
        const SunTimes sun = parts_.sun(visit_->site, date);
        const auto dawn = window_named(survey_.windows, "dawn");
        const auto span = dawn ? parts_.span(visit_->site, date, *dawn) : std::nullopt;
        const std::string window = span ? nearest_minute(span->from, parts_.zone()) + "\u2013" +
                                              nearest_minute(span->to, parts_.zone())
                                        : "-";
        html_ += fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>\n",
                             format_date(date), nearest_minute(sun.sunrise, parts_.zone()),
                             nearest_minute(sun.sunset, parts_.zone()), window);
    }

    /// What the recorder's clock must show, as a name and as an offset that a recorder asks for.
    std::string clock() const {
        std::string name = of_deployment("clock");
        if (name.empty()) name = survey_.time_zone;
        const auto zone = Zone::find(name);
        if (!zone) return name;
        if (zone->name() == "UTC") return "UTC";
        const auto noon = zone->to_utc(LocalTime(visit_->first) + std::chrono::hours(12));
        const std::string iso = format_iso(noon, *zone);
        const std::string offset = "UTC" + iso.substr(iso.find_first_of("+-", 11));
        return name.find('/') == std::string::npos ? offset : name + ", " + offset;
    }

    void when(const std::string& schedule) {
        html_ +=
            fmt::format("<h2>When <small>(local time, {})</small></h2>\n<dl class=\"facts\">\n",
                        escape_html(survey_.time_zone));
        fact("set up", of_deployment("start"));
        fact("take in", of_deployment("end"));
        fact("schedule", schedule);
        fact("clock set to", clock());
        html_ +=
            "</dl>\n<table "
            "class=\"sun\"><thead><tr><th>date</th><th>sunrise</th><th>sunset</th><th>dawn "
            "window</th></tr></thead><tbody>\n";
        sun_row(visit_->first);
        if (visit_->last != visit_->first) sun_row(visit_->last);
        html_ += "</tbody></table>\n";
    }

    void check_row(const char* label, const char* hint = "") {
        html_ += fmt::format("<tr><th class=\"label\">{}</th><td>{}</td><td>{}</td></tr>\n", label,
                             hint, hint);
    }

    void checks() {
        html_ +=
            "<h2>Checks</h2>\n<table class=\"fill\"><thead><tr><th></th><th>setting "
            "up</th><th>taking "
            "in</th></tr></thead><tbody>\n";
        check_row("date");
        check_row("true time, by satellite or phone", "h : min : s");
        check_row("the recorder shows", "h : min : s");
        check_row("recorder minus true (fast is +)", "+ / \u2212 &nbsp; &nbsp; &nbsp; &nbsp; s");
        check_row("gain, dB");
        check_row("height above the ground, m");
        check_row("battery, volts or per cent");
        check_row("card label");
        check_row("seal, microphone, test heard");
        check_row("by whom");
        html_ += "</tbody></table>\n";
    }

    void soil() {
        html_ +=
            "<h2>Soil and stand</h2>\n<div class=\"soil\">\n<table "
            "class=\"fill\"><thead><tr><th></th><th>1</th>"
            "<th>2</th><th>3</th><th>mean</th></tr></thead><tbody>\n";
        for (const char* label : {"organic depth, cm", "root mat, cm", "canopy height, m"})
            html_ += fmt::format(
                "<tr><th class=\"label\">{}</th><td></td><td></td><td></td><td></td></tr>\n",
                label);
        html_ +=
            "</tbody></table>\n<div><p>mineral soil by hand, moist:</p>\n"
            "<ul class=\"boxes\">";
        for (const char* texture :
             {"sand (falls apart)", "loamy sand (holds a ball)", "loam (short ribbon)",
              "silt loam (like flour)", "clay loam (ribbon 2.5\u20135 cm)", "clay (longer)"})
            html_ += fmt::format("<li>{}</li>", texture);
        html_ += "</ul></div>\n</div>\n";
    }

    void hazards() {
        html_ +=
            "<h2>Hazards seen <small>(look up and round before you stop)</small></h2>\n<ul "
            "class=\"boxes\">";
        for (const char* hazard : {"dead or hanging limbs", "leaning tree", "bees, wasps, ants",
                                   "snakes", "steep or slippery", "water that can rise",
                                   "exposed to lightning", "people or boats near", "other"})
            html_ += fmt::format("<li>{}</li>", hazard);
        html_ +=
            "</ul>\n<p class=\"caution\"><b>Caution.</b> Local rules, the land\u2019s owners and "
            "licensed practice go "
            "first. Do not work alone; leave word of where you are and when you will be back. "
            "Leave at thunder, in "
            "strong wind and when the river rises. Do not stand or hang a recorder under dead "
            "limbs. Keep lithium "
            "cells dry, cool and unshorted; carry no swollen ones. Recorders hear people: put up a "
            "notice, ask those "
            "who live or work near, and do not keep their voices.</p>\n";
    }

    void notes() {
        html_ +=
            "<h2>Notes <small>(where it hangs, with coordinates if not as planned)</small></h2>\n"
            "<div class=\"lines\"><div>" +
            escape_html(cut(of_deployment("notes"), kLongestNote)) +
            "</div><div></div><div></div></div>\n";
    }

    const Survey& survey_;
    const DayParts& parts_;
    const Visit* visit_ = nullptr;
    std::string html_;
};

}  // namespace

std::string deployment_sheet_html(const Survey& survey, const std::vector<Visit>& visits,
                                  const std::vector<std::string>& schedules) {
    std::string html =
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n<meta "
        "name=\"viewport\" "
        "content=\"width=device-width\">\n<title>Deployment sheets: " +
        escape_html(survey.title) + "</title>\n<style>" + kSheetStyle + "</style></head><body>\n";
    const DayParts parts(survey);
    Page page(survey, parts);
    for (std::size_t i = 0; i < visits.size(); ++i)
        html += page.of(visits[i], schedules.at(i), fmt::format("{} of {}", i + 1, visits.size()));
    return html + "</body></html>\n";
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

#include "plan/deployment_sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <initializer_list>

#include "base/lines.h"
#include "base/text.h"
#include "plan/trial_sheet.h"
#include "survey/columns.h"
#include "survey/windows.h"
#include "words/printed_page.h"
#include "words/words.h"

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
    Page(const Survey& survey, const DayParts& parts, const Words& words)
        : survey_(survey), parts_(parts), words_(words) {}

    /// `head`: "Deployment sheet 3 of 12".
    std::string of(const Visit& visit, const std::string& schedule, const std::string& head) {
        visit_ = &visit;
        html_.clear();
        html_ += "<section class=\"page\">\n";
        this->head(head);
        where();
        when(schedule);
        checks();
        soil();
        hazards();
        notes();
        if (!words_.checked())
            html_ += "<p class=\"unchecked\">" + text("common.unchecked") + "</p>\n";
        html_ += "</section>\n";
        return std::move(html_);
    }

  private:
    std::string text(WordKey key) const { return escape_html(words_.say(key)); }

    const Site& site() const { return survey_.sites[visit_->site]; }
    std::string of_site(const std::string& column) const {
        return std::string(cell_in(site(), survey_, column));
    }
    std::string of_deployment(const std::string& column) const {
        if (!visit_->deployment) return "";
        return std::string(cell_in(survey_.deployments[*visit_->deployment], survey_, column));
    }

    void head(const std::string& head) {
        html_ += fmt::format("<div class=\"head\"><span>{}</span><span>{}</span></div>\n",
                             escape_html(cut(survey_.title, kLongestName)), escape_html(head));
        const std::string name = of_deployment("deployment");
        html_ += fmt::format(
            "<h1>{}</h1>\n",
            escape_html(
                cut(name.empty() ? words_.say("sheet.site_heading", {{"site", site().name}}) : name,
                    kLongestName)));
        const char* mark = site().stand == survey_.stands.class_a   ? " a"
                           : site().stand == survey_.stands.class_b ? " b"
                                                                    : "";
        html_ += fmt::format("<p class=\"stand\"><span class=\"mark{}\"></span>{}: {}</p>\n", mark,
                             escape_html(survey_.stands.factor),
                             escape_html(cut(site().stand, kLongestName)));
    }

    /// A fact of the sheets; a line to write on where it is not known.
    void fact(WordKey label, const std::string& value, const char* unit = "") {
        if (value.empty())
            html_ += fmt::format("<dt>{}</dt><dd class=\"open\"></dd>\n", text(label));
        else
            html_ += fmt::format("<dt>{}</dt><dd>{}{}</dd>\n", text(label),
                                 escape_html(cut(value, kLongestNote)), unit);
    }

    void where() {
        html_ += "<dl class=\"facts\">\n";
        fact("sheet.site", site().name);
        fact("sheet.recorder", of_deployment("recorder"));
        fact("sheet.coordinates", coordinates(site()));
        fact("sheet.elevation", of_site("elevation_m"), " m");
        std::string trail = of_site("trail");
        const std::string metres = of_site("trail_m");
        if (!trail.empty() && !metres.empty())
            trail = words_.say("sheet.trail_at", {{"trail", trail}, {"metres", metres}});
        fact("sheet.trail", trail);
        fact("sheet.block", site().block.empty() ? of_site("block") : site().block);
        fact("sheet.folder", of_deployment("folder"));
        fact("sheet.site_notes", of_site("notes"));
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

    void heading(WordKey key) { html_ += "<h2>" + text(key) + "</h2>\n"; }
    void heading(WordKey key, const std::string& beside) {
        html_ += fmt::format("<h2>{} <small>{}</small></h2>\n", text(key), escape_html(beside));
    }

    void when(const std::string& schedule) {
        heading("sheet.when", words_.say("sheet.local_time", {{"zone", survey_.time_zone}}));
        html_ += "<dl class=\"facts\">\n";
        fact("sheet.set_up", of_deployment("start"));
        fact("sheet.take_in", of_deployment("end"));
        fact("sheet.schedule", schedule);
        fact("sheet.clock", clock());
        html_ += "</dl>\n<table class=\"sun\">";
        table_head({"sheet.date", "sheet.sunrise", "sheet.sunset", "sheet.dawn_window"});
        sun_row(visit_->first);
        if (visit_->last != visit_->first) sun_row(visit_->last);
        html_ += "</tbody></table>\n";
    }

    void table_head(std::initializer_list<WordKey> titles) {
        html_ += "<thead><tr>";
        for (const WordKey title : titles) html_ += "<th>" + text(title) + "</th>";
        html_ += "</tr></thead><tbody>\n";
    }

    void check_row(WordKey label, const std::string& hint = "") {
        html_ += fmt::format("<tr><th class=\"label\">{}</th><td>{}</td><td>{}</td></tr>\n",
                             text(label), hint, hint);
    }

    void checks() {
        heading("sheet.checks");
        html_ += fmt::format(
            "<table "
            "class=\"fill\"><thead><tr><th></th><th>{}</th><th>{}</th></tr></thead><tbody>\n",
            text("sheet.setting_up"), text("sheet.taking_in"));
        const std::string time = text("sheet.hours_minutes_seconds");
        check_row("sheet.date");
        check_row("sheet.true_time", time);
        check_row("sheet.recorder_shows", time);
        check_row("sheet.recorder_minus_true", "+ / \u2212 &nbsp; &nbsp; &nbsp; &nbsp; s");
        for (const WordKey label :
             {WordKey("sheet.gain"), WordKey("sheet.height"), WordKey("sheet.battery"),
              WordKey("sheet.card_label"), WordKey("sheet.seal"), WordKey("sheet.by_whom")})
            check_row(label);
        html_ += "</tbody></table>\n";
    }

    void boxes(std::initializer_list<WordKey> labels) {
        html_ += "<ul class=\"boxes\">";
        for (const WordKey label : labels) html_ += "<li>" + text(label) + "</li>";
        html_ += "</ul>";
    }

    void soil() {
        heading("sheet.soil");
        html_ += fmt::format(
            "<div class=\"soil\">\n<table class=\"fill\"><thead><tr><th></th><th>1</th>"
            "<th>2</th><th>3</th><th>{}</th></tr></thead><tbody>\n",
            text("sheet.mean"));
        for (const WordKey label : {WordKey("sheet.organic_depth"), WordKey("sheet.root_mat"),
                                    WordKey("sheet.canopy_height")})
            html_ += fmt::format(
                "<tr><th class=\"label\">{}</th><td></td><td></td><td></td><td></td></tr>\n",
                text(label));
        html_ += "</tbody></table>\n<div><p>" + text("sheet.mineral_soil") + "</p>\n";
        boxes({"sheet.sand", "sheet.loamy_sand", "sheet.loam", "sheet.silt_loam", "sheet.clay_loam",
               "sheet.clay"});
        html_ += "</div>\n</div>\n";
    }

    void hazards() {
        heading("sheet.hazards", std::string(words_.say("sheet.look_up")));
        boxes({"sheet.limbs", "sheet.leaning", "sheet.insects", "sheet.snakes", "sheet.steep",
               "sheet.water", "sheet.lightning", "sheet.people", "sheet.other"});
        html_ += fmt::format("\n<p class=\"caution\"><b>{}</b> {}</p>\n", text("sheet.caution"),
                             text("sheet.caution_text"));
    }

    void notes() {
        heading("sheet.notes", std::string(words_.say("sheet.notes_hint")));
        html_ += "<div class=\"lines\"><div>" +
                 escape_html(cut(of_deployment("notes"), kLongestNote)) +
                 "</div><div></div><div></div></div>\n";
    }

    const Survey& survey_;
    const DayParts& parts_;
    const Words& words_;
    const Visit* visit_ = nullptr;
    std::string html_;
};

}  // namespace

std::string deployment_sheet_html(const Survey& survey, const std::vector<Visit>& visits,
                                  const std::vector<std::string>& schedules) {
    const Words words(survey.language);
    std::string html = sheet_head(words, words.say("sheet.title", {{"survey", survey.title}}));
    const DayParts parts(survey);
    Page page(survey, parts, words);
    for (std::size_t i = 0; i < visits.size(); ++i)
        html += page.of(visits[i], schedules.at(i),
                        words.say("sheet.head", {{"number", std::to_string(i + 1)},
                                                 {"total", std::to_string(visits.size())}}));
    return html + trial_page_html(survey, words) + "</body></html>\n";
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

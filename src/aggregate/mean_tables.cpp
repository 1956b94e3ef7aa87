#include "aggregate/mean_tables.h"

#include "aggregate/table_columns.h"
#include "aggregate/table_fields.h"

namespace hearwood {
namespace {

const std::string kByDate =
    "mean over the kept, complete segments (first of each recorder's channel, then over "
    "these)";
const std::string kOverTimes =
    "what the site would show had it been recorded whenever any site was (additive model of site, "
    "date and quarter of an hour); missing where nothing tells the site from its times";
const std::string kOverDates =
    "what the site would show had it been recorded on every date on which any site was (additive "
    "model of site and date); missing where nothing tells the site from its dates";

template <class Mean>
void add_site(TableOf<Mean>& table, const Survey& survey) {
    table.column(site_field(), [&](const Mean& m) { return survey.sites[m.site].name; })
        .column(stand_field(survey), [&](const Mean& m) { return survey.sites[m.site].stand; });
}

template <class Mean>
void add_window(TableOf<Mean>& table, const Survey& survey) {
    table.column(window_field(survey, true), [&](const Mean& m) {
        return survey.windows[static_cast<std::size_t>(m.part)].name;
    });
}

template <class Mean>
void add_values(TableOf<Mean>& table, const Survey& survey, const std::string& average) {
    const std::vector<TableColumn> columns = averaged_columns(survey);
    for (std::size_t i = 0; i < columns.size(); ++i)
        table.column(value_field(columns[i].column, average),
                     [i](const Mean& m) { return m.values[i]; });
    table
        .column(count_field("kept", "segments kept",
                            "complete segments that no screen excludes; each channel of a "
                            "recording counts by itself"),
                &Mean::kept)
        .column(count_field("possible", "segments possible",
                            "complete segments recorded at the site there, kept or not; each "
                            "channel counts by itself"),
                &Mean::possible);
}

void add_dates(TableOf<SiteMean>& table) {
    table.column(count_field("dates", "dates", "dates with at least one kept segment"),
                 &SiteMean::dates);
}

void add_leans(TableOf<SiteMean>& table) {
    table.column(
        number_field(
            "leans", "1", "leans on the model",
            "variance of the site's distance from the mean of all sites, over what it would be had "
            "every site been recorded at all dates and times; missing where the site cannot be "
            "compared, or stands alone"),
        &SiteMean::leans);
}

ForeignKey to_sites() {
    return {{"site"}, "sites", {"site"}};
}

}  // namespace

TableOf<DateMean> site_hours_table(const Survey& survey) {
    TableOf<DateMean> table("site_hours.csv", "sites by date and hour",
                            "A row is a site, a date and an hour.");
    add_site(table, survey);
    table
        .column(date_field("local date of the segment's midpoint"),
                [](const DateMean& m) { return format_date(m.date); })
        .column(hour_field(), &DateMean::part);
    add_values(table, survey, kByDate);
    return table.key({"site", "date", "hour"}).refers(to_sites());
}

TableOf<DateMean> site_windows_table(const Survey& survey) {
    TableOf<DateMean> table("site_windows.csv", "sites by date and window",
                            "A row is a site, a date and a window.");
    add_site(table, survey);
    table.column(
        date_field("local date on which the window begins: a night belongs to its evening"),
        [](const DateMean& m) { return format_date(m.date); });
    add_window(table, survey);
    add_values(table, survey, kByDate);
    return table.key({"site", "date", "window"}).refers(to_sites());
}

TableOf<SiteMean> hours_table(const Survey& survey) {
    TableOf<SiteMean> table("hours.csv", "sites by hour",
                            "A row is a site and an hour, over all dates.");
    add_site(table, survey);
    table.column(hour_field(), &SiteMean::part);
    add_values(table, survey, kOverDates);
    add_dates(table);
    add_leans(table);
    return table.key({"site", "hour"}).refers(to_sites());
}

TableOf<SiteMean> windows_table(const Survey& survey) {
    TableOf<SiteMean> table(
        "windows.csv", "sites by window",
        "A row is a site and a window, over all dates: the values that are contrasted.");
    add_site(table, survey);
    add_window(table, survey);
    add_values(table, survey, kOverTimes);
    add_dates(table);
    table.column(count_field("cells", "cells",
                             "quarters of an hour of a date with at least one kept segment"),
                 &SiteMean::cells);
    add_leans(table);
    return table.key({"site", "window"}).refers(to_sites());
}

void write_mean_tables(const Survey& survey, const SiteValues& values,
                       const std::filesystem::path& folder) {
    write_table(site_hours_table(survey), values.site_hours, folder / "site_hours.csv");
    write_table(site_windows_table(survey), values.site_windows, folder / "site_windows.csv");
    write_table(hours_table(survey), values.hours, folder / "hours.csv");
    write_table(windows_table(survey), values.window_means, folder / "windows.csv");
}

}  // namespace hearwood

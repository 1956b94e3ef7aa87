#include "aggregate/table_descriptions.h"

#include <algorithm>

#include "aggregate/table_columns.h"
#include "aggregate/table_fields.h"
#include "screen/rules.h"

namespace hearwood {
namespace {

TableDescription table(const std::string& name, std::string title, std::string description) {
    return describe_table(name + ".csv", std::move(title), std::move(description));
}

TableField moment_field(std::string name, std::string title, std::string description) {
    TableField field = text_field(std::move(name), std::move(title), std::move(description));
    field.type = "datetime";
    field.format = "any";  // ISO 8601 with an offset, and milliseconds only where there are any
    field.rdf_type = kDarwinCore + "eventDate";
    return field;
}

TableField file_field() {
    TableField field =
        text_field("file", "recording",
                   "path of the recording from the survey folder; a backslash in it is doubled, "
                   "and bytes that are not UTF-8 stand as \\xNN");
    field.rdf_type = kDarwinCore + "associatedMedia";
    field.required = true;
    return field;
}

TableField flag_field(std::string name, std::string title, std::string description) {
    TableField field = text_field(std::move(name), std::move(title), std::move(description));
    field.type = "boolean";
    field.required = true;
    return field;
}

std::string reason_names() {
    std::string names;
    for (int i = 0; i < kReasonCount; ++i)
        names += (i > 0 ? ", " : "") + std::string(name_of(static_cast<Reason>(i)));
    return names;
}

void add_values(TableDescription& description, const Survey& survey, const std::string& average) {
    for (const TableColumn& column : averaged_columns(survey))
        description.fields.push_back(value_field(column.column, average));
}

void add_effort(TableDescription& description, bool over_dates) {
    description.fields.push_back(count_field(
        "kept", "segments kept",
        "complete segments that no screen excludes; each channel of a recording counts by itself"));
    description.fields.push_back(count_field("possible", "segments possible",
                                             "complete segments recorded at the site there, kept "
                                             "or not; each channel counts by itself"));
    if (over_dates)
        description.fields.push_back(
            count_field("dates", "dates", "dates with at least one kept segment"));
}

const std::string kByDate =
    "mean over the kept, complete segments (first of each recorder's channel, then over "
    "these)";
const std::string kOverDates = "mean over dates of the date's mean";

void refer(TableDescription& description, const std::string& field, const std::string& other) {
    description.foreign_keys.push_back({{field}, other, {field}});
}

}  // namespace

TableDescription describe_segments(const Survey& survey) {
    TableDescription d =
        table("segments", "segments",
              "A row is one channel of one segment of a recording whose start is known.");
    d.fields = {site_field(), stand_field(survey), deployment_field(), file_field()};
    d.fields.push_back(
        count_field("channel", "channel", "channel of the recording, counted from 0"));
    d.fields.push_back(
        count_field("segment", "segment", "segment of the recording, counted from 0"));
    d.fields.push_back(
        moment_field("start_utc", "start (UTC)",
                     "when the segment began, corrected for the recorder's clock, in UTC"));
    d.fields.push_back(
        moment_field("start_local", "start (local)",
                     "the same on the survey's local clock, with its offset from UTC"));
    d.fields.push_back(number_field("duration_s", "s", "duration", "length of the segment"));
    d.fields.push_back(
        flag_field("complete", "complete",
                   "1: as long as the survey's segments; 0: the shorter last one of a file"));
    d.fields.push_back(window_field(survey, false));
    d.fields.push_back(
        number_field("minutes_from_sunrise", "min", "minutes from sunrise",
                     "midpoint of the segment minus the sunrise of its local date; missing where "
                     "the sun does not rise"));
    for (const TableColumn& column : segment_columns(survey))
        d.fields.push_back(value_field(column.column, ""));
    d.fields.push_back(
        text_field("flags", "flags", "every screen that fired, joined by ';': " + reason_names()));
    d.fields.push_back(flag_field("kept", "kept", "1: no screen excludes the segment"));
    d.fields.push_back(text_field("reasons", "reasons", "those flags that exclude, joined by ';'"));
    d.primary_key = {"file", "channel", "segment"};
    d.foreign_keys = {{{"file"}, "recordings", {"file"}}};
    refer(d, "site", "sites");
    refer(d, "deployment", "deployments");
    return d;
}

TableDescription describe_site_hours(const Survey& survey) {
    TableDescription d =
        table("site_hours", "sites by date and hour", "A row is a site, a date and an hour.");
    d.fields = {site_field(), stand_field(survey),
                date_field("local date of the segments' midpoints"), hour_field()};
    add_values(d, survey, kByDate);
    add_effort(d, false);
    d.primary_key = {"site", "date", "hour"};
    refer(d, "site", "sites");
    return d;
}

TableDescription describe_site_windows(const Survey& survey) {
    TableDescription d =
        table("site_windows", "sites by date and window", "A row is a site, a date and a window.");
    d.fields = {
        site_field(), stand_field(survey),
        date_field(
            "local date to which the window belongs: that on which it begins (a night belongs to "
            "the evening that began it)"),
        window_field(survey, true)};
    add_values(d, survey, kByDate);
    add_effort(d, false);
    d.primary_key = {"site", "date", "window"};
    refer(d, "site", "sites");
    return d;
}

TableDescription describe_hours(const Survey& survey) {
    TableDescription d =
        table("hours", "sites by hour", "A row is a site and an hour, over all dates.");
    d.fields = {site_field(), stand_field(survey), hour_field()};
    add_values(d, survey, kOverDates);
    add_effort(d, true);
    d.primary_key = {"site", "hour"};
    refer(d, "site", "sites");
    return d;
}

TableDescription describe_windows(const Survey& survey) {
    TableDescription d =
        table("windows", "sites by window",
              "A row is a site and a window, over all dates: the values that are contrasted.");
    d.fields = {site_field(), stand_field(survey), window_field(survey, true)};
    add_values(d, survey, kOverDates);
    add_effort(d, true);
    d.primary_key = {"site", "window"};
    refer(d, "site", "sites");
    return d;
}

TableDescription describe_recordings() {
    TableDescription d = table("recordings", "recordings", "A row is a file found, usable or not.");
    d.fields = {deployment_field(), file_field()};
    d.fields.back().unique = true;
    d.fields.push_back(moment_field(
        "start", "start",
        "when it began on the survey's local clock, corrected for the recorder's clock; "
        "missing where neither name nor header tells"));
    d.fields.push_back(number_field("duration", "s", "duration", "length of what can be read"));
    d.fields.push_back(number_field("rate", "Hz", "sample rate", "samples a second"));
    d.fields.push_back(number_field("channels", "1", "channels", "number of channels"));
    d.fields.push_back(
        number_field("bits", "bit", "bits", "bits of a sample; missing for lossy compression"));
    d.fields.push_back(count_field("size", "size", "size of the file"));
    d.fields.back().unit = "byte";
    d.fields.push_back(text_field("sha256", "SHA-256", "of the whole file, where it was computed"));
    TableField state = text_field("state", "state", "how far it could be used");
    state.values = {"measured",           "not measured",  "damaged",
                    "unreadable",         "no start time", "clock reset",
                    "outside deployment", "duplicate",     "not in deployments.csv"};
    state.required = true;
    d.fields.push_back(state);
    d.fields.push_back(text_field("note", "note", "why, and what is odd about it, in words"));
    d.fields.push_back(
        text_field("oddities", "oddities",
                   "what is odd, joined by ';': clock reset, duplicate, overlapping, other sample "
                   "rate, other channels, gone"));
    d.fields.push_back(
        text_field("start_source", "source of the start", "where its start was read"));
    d.fields.push_back(
        number_field("correction_s", "s", "clock correction",
                     "what was added to the recorder's own time: minus its clock's error, from the "
                     "clock checks in deployments.csv"));
    d.fields.push_back(
        number_field("lost_s", "s", "lost", "what its header promises and the file does not hold"));
    d.fields.push_back(count_field("segments", "segments", "rows of segments.csv"));
    d.fields.push_back(count_field("kept", "segments kept", "those that no screen excludes"));
    d.primary_key = {"file"};
    return d;
}

TableDescription describe_coverage() {
    TableDescription d = table(
        "coverage", "coverage",
        "A row is a deployment, a date and an hour in which recordings were expected or made.");
    d.fields = {deployment_field(), site_field(), date_field("local date"), hour_field()};
    const auto minutes = [&](const char* name, const char* text) {
        d.fields.push_back(number_field(name, "min", name, text));
        d.fields.back().minimum = 0;
        d.fields.back().required = true;
    };
    minutes(
        "expected",
        "minutes that should be there: by expected_minutes_per_hour of deployments.csv, else by "
        "the regular rhythm of the files");
    minutes("present", "minutes recorded and readable");
    minutes("usable",
            "minutes of them that no screen excludes; before measuring, the same as present");
    d.primary_key = {"deployment", "date", "hour"};
    refer(d, "deployment", "deployments");
    return d;
}

TableDescription described_by_header(const TableDescription& table,
                                     const std::vector<std::string>& header) {
    TableDescription described = table;
    described.fields.clear();
    for (const std::string& name : header) {
        const auto known =
            std::find_if(table.fields.begin(), table.fields.end(),
                         [&](const TableField& field) { return field.name == name; });
        described.fields.push_back(
            known != table.fields.end() ? *known : text_field(name, name, "of an older version"));
    }
    return described;
}

}  // namespace hearwood

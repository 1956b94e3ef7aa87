#include "aggregate/table_fields.h"

namespace hearwood {
TableField text_field(std::string name, std::string title, std::string description) {
    TableField field;
    field.name = std::move(name);
    field.type = "string";
    field.title = std::move(title);
    field.description = std::move(description);
    return field;
}

TableField number_field(std::string name, std::string unit, std::string title,
                        std::string description) {
    TableField field = text_field(std::move(name), std::move(title), std::move(description));
    field.type = "number";
    field.unit = std::move(unit);
    return field;
}

TableField count_field(std::string name, std::string title, std::string description) {
    TableField field = text_field(std::move(name), std::move(title), std::move(description));
    field.type = "integer";
    field.unit = "1";
    field.minimum = 0;
    field.required = true;
    return field;
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

TableField site_field() {
    TableField field = text_field("site", "site", "recording site");
    field.rdf_type = kDarwinCore + "locationID";
    field.required = true;
    return field;
}

TableField stand_field(const Survey& survey) {
    const std::string& factor = survey.stands.factor;
    const std::string column = factor.empty() ? "of sites.csv that [stands].factor names"
                                              : "'" + factor + "' of sites.csv";
    TableField field = text_field(
        "stand", "stand class",
        "the site's value in the column " + column + ": the factor whose classes are compared");
    field.rdf_type = kDarwinCore + "habitat";
    field.required = true;
    return field;
}

TableField deployment_field() {
    TableField field =
        text_field("deployment", "deployment", "name of the deployment, as in deployments.csv");
    field.rdf_type = kDarwinCore + "parentEventID";
    field.required = true;
    return field;
}

TableField date_field(std::string description) {
    TableField field = text_field("date", "local date", std::move(description));
    field.type = "date";
    field.rdf_type = kDarwinCore + "eventDate";
    field.required = true;
    return field;
}

TableField hour_field() {
    TableField field = count_field("hour", "hour of the day",
                                   "hour of the local clock in which a segment's midpoint falls; "
                                   "one that the clock repeats is one hour with more segments");
    field.unit = "h";
    field.maximum = 23;
    return field;
}

TableField window_field(const Survey& survey, bool required) {
    TableField field = text_field(
        "window", "window",
        "named part of the day in which a segment's midpoint falls; where windows overlap, the "
        "first of the survey's list");
    for (const Window& window : survey.windows) field.values.push_back(window.name);
    field.required = required;
    return field;
}

TableField value_field(const Column& column, const std::string& average) {
    std::string description = average.empty() ? column.meaning : average + ": " + column.meaning;
    if (!column.source.empty()) description += " (" + column.source + ")";
    return number_field(column.name, column.unit, column.title, std::move(description));
}

}  // namespace hearwood

// The sheets as they were read: their known columns described, the user's own kept as they are.
#include <map>

#include "aggregate/table_descriptions.h"
#include "aggregate/table_fields.h"

namespace hearwood {
namespace {

struct Known {
    const char* unit;  ///< nullptr: text
    const char* meaning;
    const char* darwin_core;  ///< term; empty: none fits
};

const std::map<std::string, Known>& site_columns() {
    static const std::map<std::string, Known> columns = {
        {"latitude", {"degree", "geographic latitude, north positive", "decimalLatitude"}},
        {"longitude", {"degree", "geographic longitude, east positive", "decimalLongitude"}},
        {"elevation_m", {"m", "height above sea level", "minimumElevationInMeters"}},
        {"trail", {nullptr, "trail along which the site lies", ""}},
        {"trail_m", {"m", "distance along the trail", ""}},
        {"block", {nullptr, "group of sites within which classes are compared", ""}},
        {"root_mat_cm", {"cm", "thickness of the root mat", ""}},
        {"organic_depth_cm", {"cm", "depth of the organic layer", ""}},
        {"mineral_texture", {nullptr, "texture of the mineral soil", ""}},
        {"canopy_height_m", {"m", "height of the canopy", ""}},
        {"notes", {nullptr, "remarks", "locationRemarks"}},
    };
    return columns;
}

const std::map<std::string, Known>& deployment_columns() {
    static const std::map<std::string, Known> columns = {
        {"folder", {nullptr, "folder of its recordings, from the survey folder", ""}},
        {"recorder", {nullptr, "name of the recorder", ""}},
        {"start", {nullptr, "when the recorder was put out (local)", ""}},
        {"end", {nullptr, "when it was taken in (local)", ""}},
        {"clock", {nullptr, "zone of the recorder's clock", ""}},
        {"clock_error_start_s", {"s", "recorder minus true time when it was put out", ""}},
        {"clock_error_end_s", {"s", "recorder minus true time when it was taken in", ""}},
        {"gain_db", {"dB", "gain of the recorder", ""}},
        {"height_m", {"m", "height above the ground", ""}},
        {"full_scale_db_spl", {"dB re 20 uPa", "sound pressure level of a full-scale sine", ""}},
        {"expected_minutes_per_hour", {"min", "minutes an hour that the schedule should give", ""}},
        {"notes", {nullptr, "remarks", "eventRemarks"}},
    };
    return columns;
}

/// True when every filled cell of the column is a number: the user's own columns tell their type
/// themselves.
template <class Row>
bool numeric(const std::vector<Row>& rows, std::size_t place, const std::string& column,
             const Survey& survey) {
    bool any = false;
    for (const Row& row : rows) {
        if (place >= row.cells.size() || row.cells[place].empty()) continue;
        if (!number_in(row, survey, column)) return false;
        any = true;
    }
    return any;
}

template <class Row>
TableField field_of(const std::vector<Row>& rows, std::size_t place, const std::string& column,
                    const std::map<std::string, Known>& columns, const Survey& survey) {
    const auto known = columns.find(column);
    if (known == columns.end() || known->second.unit == nullptr) {
        const std::string meaning =
            known == columns.end() ? "the survey's own column" : known->second.meaning;
        if (known == columns.end() && numeric(rows, place, column, survey))
            return number_field(column, "", column, meaning);
        TableField field = text_field(column, column, meaning);
        if (known != columns.end() && known->second.darwin_core[0])
            field.rdf_type =
                std::string("http://rs.tdwg.org/dwc/terms/") + known->second.darwin_core;
        return field;
    }
    TableField field = number_field(column, known->second.unit, column, known->second.meaning);
    if (known->second.darwin_core[0])
        field.rdf_type = std::string("http://rs.tdwg.org/dwc/terms/") + known->second.darwin_core;
    return field;
}

}  // namespace

TableDescription describe_sites(const Survey& survey) {
    TableDescription d;
    d.name = "sites";
    d.path = "sites.csv";
    d.title = "sites";
    d.description = "The sheet of sites as it was read.";
    for (std::size_t i = 0; i < survey.site_columns.size(); ++i) {
        const std::string& column = survey.site_columns[i];
        if (column == "site") {
            d.fields.push_back(site_field());
            d.fields.back().unique = true;
        } else {
            d.fields.push_back(field_of(survey.sites, i, column, site_columns(), survey));
            if (column == survey.stands.factor)
                d.fields.back().rdf_type = stand_field(survey).rdf_type;
        }
    }
    d.primary_key = {"site"};
    return d;
}

TableDescription describe_deployments(const Survey& survey) {
    TableDescription d;
    d.name = "deployments";
    d.path = "deployments.csv";
    d.title = "deployments";
    d.description = "The sheet of deployments as it was read.";
    for (std::size_t i = 0; i < survey.deployment_columns.size(); ++i) {
        const std::string& column = survey.deployment_columns[i];
        if (column == "site") {
            d.fields.push_back(site_field());
        } else if (column == "deployment") {
            d.fields.push_back(deployment_field());
            d.fields.back().unique = true;
        } else {
            d.fields.push_back(
                field_of(survey.deployments, i, column, deployment_columns(), survey));
        }
    }
    d.primary_key = {"deployment"};
    d.foreign_keys = {{{"site"}, "sites", {"site"}}};
    return d;
}

}  // namespace hearwood

// The sheets as they were read: their known columns described, the user's own kept as they are.
#include <map>

#include "aggregate/table_descriptions.h"
#include "aggregate/table_fields.h"
#include "survey/columns.h"

namespace hearwood {
namespace {

/// Darwin Core's term for a column of a sheet; the others have none that fits.
using Terms = std::map<std::string, const char*>;
const Terms kSiteTerms = {{"latitude", "decimalLatitude"},
                          {"longitude", "decimalLongitude"},
                          {"elevation_m", "minimumElevationInMeters"},
                          {"notes", "locationRemarks"}};
const Terms kDeploymentTerms = {{"notes", "eventRemarks"}};

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
                    std::span<const KnownColumn> known_columns, const Terms& terms,
                    const Survey& survey) {
    const KnownColumn* known = find_column(known_columns, column);
    const std::string meaning = known ? known->meaning : "the survey's own column";
    const bool is_text = known ? known->is_text() : !numeric(rows, place, column, survey);
    TableField field = is_text ? text_field(column, column, meaning)
                               : number_field(column, known ? known->unit : "", column, meaning);
    const auto term = terms.find(column);
    if (term != terms.end()) field.rdf_type = kDarwinCore + term->second;
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
            d.fields.push_back(
                field_of(survey.sites, i, column, known_site_columns(), kSiteTerms, survey));
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
            d.fields.push_back(field_of(survey.deployments, i, column, known_deployment_columns(),
                                        kDeploymentTerms, survey));
        }
    }
    d.primary_key = {"deployment"};
    d.foreign_keys = {{{"site"}, "sites", {"site"}}};
    return d;
}

}  // namespace hearwood

// The sheets as they were read: their known columns described, the user's own kept as they are.
#include <map>

#include "aggregate/mean_tables.h"
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

/// A numeric column as numbers with a decimal point, any other as it stands in the sheet.
template <class Row>
void add_column(TableOf<Row>& table, TableField field, std::size_t place, const Survey& survey) {
    if (field.type == "number")
        table.column(field, [&survey, name = field.name](const Row& row) {
            return number_in(row, survey, name);
        });
    else
        table.column(field, [place](const Row& row) {
            return place < row.cells.size() ? row.cells[place] : std::string();
        });
}

}  // namespace

TableOf<Site> sites_table(const Survey& survey) {
    TableOf<Site> table("sites.csv", "sites", "The sheet of sites as it was read.");
    for (std::size_t i = 0; i < survey.site_columns.size(); ++i) {
        const std::string& column = survey.site_columns[i];
        TableField field = column == "site" ? site_field()
                                            : field_of(survey.sites, i, column,
                                                       known_site_columns(), kSiteTerms, survey);
        if (column == "site") field.unique = true;
        if (column == survey.stands.factor) field.rdf_type = stand_field(survey).rdf_type;
        add_column(table, std::move(field), i, survey);
    }
    return table.key({"site"});
}

TableOf<Deployment> deployments_table(const Survey& survey) {
    TableOf<Deployment> table("deployments.csv", "deployments",
                              "The sheet of deployments as it was read.");
    for (std::size_t i = 0; i < survey.deployment_columns.size(); ++i) {
        const std::string& column = survey.deployment_columns[i];
        TableField field = column == "site" ? site_field()
                           : column == "deployment"
                               ? deployment_field()
                               : field_of(survey.deployments, i, column, known_deployment_columns(),
                                          kDeploymentTerms, survey);
        if (column == "deployment") field.unique = true;
        add_column(table, std::move(field), i, survey);
    }
    return table.key({"deployment"}).refers({{"site"}, "sites", {"site"}});
}

void write_sheet_tables(const Survey& survey, const std::filesystem::path& folder) {
    write_table(sites_table(survey), survey.sites, folder / "sites.csv");
    write_table(deployments_table(survey), survey.deployments, folder / "deployments.csv");
}

}  // namespace hearwood

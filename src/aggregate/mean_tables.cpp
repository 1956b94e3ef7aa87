#include "aggregate/mean_tables.h"

#include <functional>

#include "aggregate/table_descriptions.h"
#include "base/csv_writer.h"

namespace hearwood {
namespace {

using Label = std::function<void(CsvWriter&, int part)>;

void start_row(CsvWriter& csv, const Site& site) {
    csv.text(site.name);
    csv.text(site.stand);
}

template <class Mean>
void values_and_effort(CsvWriter& csv, const Mean& mean) {
    for (const double value : mean.values) csv.number(value);
    csv.integer(mean.kept);
    csv.integer(mean.possible);
}

void write_dates(const Survey& survey, const std::vector<DateMean>& rows,
                 const TableDescription& table, const Label& label,
                 const std::filesystem::path& folder) {
    CsvWriter csv(folder / table.path, header_of(table));
    for (const DateMean& row : rows) {
        start_row(csv, survey.sites[row.site]);
        csv.text(format_date(row.date));
        label(csv, row.part);
        values_and_effort(csv, row);
        csv.end_row();
    }
    csv.commit();
}

void write_sites(const Survey& survey, const std::vector<SiteMean>& rows,
                 const TableDescription& table, const Label& label,
                 const std::filesystem::path& folder) {
    CsvWriter csv(folder / table.path, header_of(table));
    for (const SiteMean& row : rows) {
        start_row(csv, survey.sites[row.site]);
        label(csv, row.part);
        values_and_effort(csv, row);
        csv.integer(row.dates);
        csv.end_row();
    }
    csv.commit();
}

template <class Row>
void write_sheet(const Survey& survey, const std::vector<Row>& rows, const TableDescription& table,
                 const std::filesystem::path& folder) {
    CsvWriter csv(folder / table.path, header_of(table));
    for (const Row& row : rows) {
        for (std::size_t i = 0; i < table.fields.size(); ++i) {
            const TableField& field = table.fields[i];
            if (field.type == "number")
                csv.number(number_in(row, survey, field.name));
            else
                csv.text(i < row.cells.size() ? row.cells[i] : std::string());
        }
        csv.end_row();
    }
    csv.commit();
}

}  // namespace

void write_mean_tables(const Survey& survey, const SiteValues& values,
                       const std::filesystem::path& folder) {
    const Label hour = [](CsvWriter& csv, int part) { csv.integer(part); };
    const Label window = [&](CsvWriter& csv, int part) {
        csv.text(values.windows[static_cast<std::size_t>(part)]);
    };
    write_dates(survey, values.site_hours, describe_site_hours(survey), hour, folder);
    write_dates(survey, values.site_windows, describe_site_windows(survey), window, folder);
    write_sites(survey, values.hours, describe_hours(survey), hour, folder);
    write_sites(survey, values.window_means, describe_windows(survey), window, folder);
}

void write_sheet_tables(const Survey& survey, const std::filesystem::path& folder) {
    write_sheet(survey, survey.sites, describe_sites(survey), folder);
    write_sheet(survey, survey.deployments, describe_deployments(survey), folder);
}

}  // namespace hearwood

#include "aggregate/table_columns.h"

#include <algorithm>

#include "screen/quantities.h"

namespace hearwood {
namespace {

constexpr std::string_view kFullScale = "_dbfs";

bool any_calibrated(const Survey& survey) {
    return std::any_of(survey.deployments.begin(), survey.deployments.end(),
                       [](const Deployment& d) { return d.full_scale_db_spl.has_value(); });
}

TableColumn twin_of(const Column& level) {
    TableColumn twin{level, level.name, true};
    twin.column.name = level.name.substr(0, level.name.size() - kFullScale.size()) + "_dbspl";
    twin.column.unit = "dB re 20 uPa";
    twin.column.title += ", calibrated";
    twin.column.meaning = level.name +
                          " plus the deployment's full_scale_db_spl, the sound pressure level "
                          "of a full-scale sine; missing where the recorder is not calibrated";
    twin.column.depends_on_gain = false;
    return twin;
}

}  // namespace

std::vector<TableColumn> segment_columns(const Survey& survey) {
    const bool twins = any_calibrated(survey);
    std::vector<TableColumn> columns;
    const auto add = [&](const std::vector<Column>& more) {
        for (const Column& column : more) {
            columns.push_back({column, column.name, false});
            if (twins && column.name.ends_with(kFullScale)) columns.push_back(twin_of(column));
        }
    };
    add(index_columns(survey.measure));
    add(quantity_columns());
    return columns;
}

std::vector<TableColumn> averaged_columns(const Survey& survey) {
    std::vector<TableColumn> columns = segment_columns(survey);
    std::erase_if(columns, [](const TableColumn& c) {
        return c.column.kind != Column::Kind::index && c.column.kind != Column::Kind::level;
    });
    return columns;
}

ColumnReader::ColumnReader(const std::vector<TableColumn>& columns,
                           std::span<const std::string> stored) {
    for (const TableColumn& column : columns) {
        const auto found = std::find(stored.begin(), stored.end(), column.stored);
        if (found == stored.end())
            throw InputError("hearwood/survey.db has no column '" + column.stored +
                                 "': it was measured by another version of the program",
                             "run 'hearwood measure' on the survey, which measures anew");
        sources_.push_back({static_cast<std::size_t>(found - stored.begin()), column.calibrated});
    }
}

void ColumnReader::read(std::span<const double> row, double full_scale_db_spl,
                        std::vector<double>& out) const {
    out.resize(sources_.size());
    for (std::size_t i = 0; i < sources_.size(); ++i) {
        const double value = row[sources_[i].place];
        out[i] = sources_[i].calibrated ? value + full_scale_db_spl : value;
    }
}

}  // namespace hearwood

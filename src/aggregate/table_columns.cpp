#include "aggregate/table_columns.h"

#include <algorithm>

#include "aggregate/even_terms.h"
#include "base/missing.h"
#include "screen/quantities.h"

namespace hearwood {
namespace {

constexpr std::size_t kDerived = static_cast<std::size_t>(-1);
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

std::vector<TableColumn> derived_columns(const Survey& survey) {
    const auto derived = [](Column column) {
        return TableColumn{std::move(column), "", false, true};
    };
    std::vector<TableColumn> columns{
        derived({"choir_khz", "kHz", Column::Kind::index, "width of the choirs",
                 "Width of the bands that events fill in more than a quarter ([activity] "
                 "choir_share) of the seconds of the site and window.",
                 "own definition"}),
        derived({"solo_events", "1/min", Column::Kind::index, "sound events outside choirs",
                 "Sound events a minute whose middle lies outside the bands of the site's and "
                 "window's choirs.",
                 "own definition"})};
    if (!survey.activity.even) return columns;
    for (Column& column : even_columns(survey.measure))
        columns.push_back(derived(std::move(column)));
    return columns;
}

std::vector<TableColumn> averaged_columns(const Survey& survey) {
    std::vector<TableColumn> columns = segment_columns(survey);
    std::erase_if(columns, [](const TableColumn& c) {
        return c.column.kind != Column::Kind::index && c.column.kind != Column::Kind::level;
    });
    const auto derived = derived_columns(survey);
    columns.insert(columns.end(), derived.begin(), derived.end());
    return columns;
}

ColumnReader::ColumnReader(const std::vector<TableColumn>& columns,
                           std::span<const std::string> stored) {
    for (const TableColumn& column : columns) {
        if (column.derived) {
            sources_.push_back({kDerived, false});
            continue;
        }
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
        if (sources_[i].column == kDerived) {
            out[i] = kMissing;
            continue;
        }
        const double value = row[sources_[i].column];
        out[i] = sources_[i].calibrated ? value + full_scale_db_spl : value;
    }
}

}  // namespace hearwood

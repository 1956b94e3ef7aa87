#include "command/result_tables.h"

#include <set>

#include "activity/even.h"
#include "aggregate/sound_path.h"
#include "aggregate/table_columns.h"
#include "aggregate/tables.h"
#include "contrast/survey_contrast.h"
#include "listen/score.h"
#include "plan/plan.h"
#include "plan/schedules.h"
#include "plan/spacing.h"
#include "plan/visits.h"

namespace hearwood {

std::vector<TableDescription> result_tables() {
    std::vector<TableDescription> tables = contrast_tables();
    for (TableDescription& table : listening_tables()) tables.push_back(std::move(table));
    tables.push_back(even_table().description());
    tables.push_back(path_loss_table().description());
    return tables;
}

std::string with_described_tables(const std::string& page) {
    Survey any;
    any.time_zone = "UTC";
    // docs/measures.md, docs/screens.md and docs/tables.md itself have those.
    std::set<std::string> measured;
    for (const auto& columns : {segment_columns(any), averaged_columns(any)})
        for (const TableColumn& column : columns) measured.insert(column.column.name);
    const std::string of_the_survey = with_described_columns(
        page, survey_tables(any), [&](const std::string& name) { return measured.contains(name); });
    std::vector<TableDescription> tables = result_tables();
    tables.push_back(design_table().description());
    tables.push_back(power_table().description());
    tables.push_back(sun_times_table(any).description());
    tables.push_back(budgets_table(any).description());
    tables.push_back(distances_table(any, any.stands.listening_distance_m).description());
    return with_described_columns(of_the_survey, tables);
}

}  // namespace hearwood

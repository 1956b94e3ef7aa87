#include "contrast/covariates.h"

namespace hearwood {

TableOf<CovariateRow> covariates_table() {
    using Row = CovariateRow;
    return TableOf<Row>("covariates.csv", "covariates",
                        "A row is an index, a window and a numeric column of the sheets.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("column", "", "numeric column of the sheets", &Row::column)
        .column("rho", "1", "Spearman's rank correlation across sites",
                [](const Row& row) { return row.correlation.rho; })
        .column("p", "1", "two-sided p of the permutation test",
                [](const Row& row) { return row.correlation.p; })
        .column("n", "1", "sites with both values",
                [](const Row& row) { return row.correlation.n; });
}

std::string covariates_csv(std::span<const CovariateRow> rows) {
    return csv_of(covariates_table(), rows);
}

}  // namespace hearwood

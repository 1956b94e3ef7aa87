#include "contrast/covariates.h"

#include "contrast/csv.h"

namespace hearwood {

std::string covariates_csv(std::span<const CovariateRow> rows) {
    std::string bytes = "index,window,column,rho,p,n\n";
    CsvLine line;
    for (const CovariateRow& row : rows) {
        line.text(row.index).text(row.window).text(row.column);
        bytes += line.number(row.correlation.rho)
                     .number(row.correlation.p)
                     .count(row.correlation.n)
                     .take();
    }
    return bytes;
}

}  // namespace hearwood

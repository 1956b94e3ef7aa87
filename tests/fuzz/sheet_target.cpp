// The sheet reader: any bytes give a sheet or problems, and every row has a cell a column.
#include <cstdlib>
#include <string_view>

#include "base/sheet.h"
#include "target.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace hearwood;
    std::vector<Problem> problems;
    const Sheet sheet =
        parse_sheet({reinterpret_cast<const char*>(data), size}, "sites.csv", problems);
    for (const SheetRow& row : sheet.rows) {
        if (row.cells.size() != sheet.header.size()) std::abort();
        for (const std::string& cell : row.cells) (void)sheet_number(sheet, cell);
    }
    for (const Problem& problem : problems)
        if (one_line(problem).find('\n') != std::string::npos) std::abort();
    return 0;
}

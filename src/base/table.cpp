#include "base/table.h"

#include <algorithm>

namespace hearwood {

TableDescription describe_table(std::string file, std::string title, std::string description) {
    TableDescription table;
    table.name = file.substr(0, file.rfind('.'));
    std::replace(table.name.begin(), table.name.end(), '_', '-');
    table.path = std::move(file);
    table.title = std::move(title);
    table.description = std::move(description);
    return table;
}

std::vector<std::string> header_of(const TableDescription& table) {
    std::vector<std::string> header;
    for (const TableField& field : table.fields) header.push_back(field.name);
    return header;
}

namespace {

constexpr std::string_view kColumnsHead = "| column | type | unit | meaning |\n|---|---|---|---|\n";

std::string rows_of(const TableDescription& table,
                    const std::function<bool(const std::string&)>& elsewhere) {
    std::string rows;
    for (const TableField& field : table.fields) {
        if (elsewhere && elsewhere(field.name)) continue;
        rows += "| `" + field.name + "` | " + field.type + " | " +
                (field.unit == "1" ? "" : field.unit) + " | " + field.description + " |\n";
    }
    return rows;
}

}  // namespace

std::string with_described_columns(const std::string& page,
                                   std::span<const TableDescription> tables,
                                   const std::function<bool(const std::string&)>& elsewhere) {
    std::string result = page;
    for (const TableDescription& table : tables) {
        const std::size_t heading = result.find("### `" + table.path + "`");
        if (heading == std::string::npos) continue;
        const std::size_t next = result.find("\n#", heading);
        const std::size_t head = result.find(kColumnsHead, heading);
        if (head == std::string::npos || head > next) continue;
        const std::size_t from = head + kColumnsHead.size();
        std::size_t to = from;
        while (result.compare(to, 2, "| ") == 0) to = result.find('\n', to) + 1;
        result.replace(from, to - from, rows_of(table, elsewhere));
    }
    return result;
}

}  // namespace hearwood

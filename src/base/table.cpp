#include "base/table.h"

#include <algorithm>
#include <map>

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

std::string heading_of(const TableDescription& table) {
    return "### `" + table.path + "`";
}

/// Which table of the page tells of a column first, by all that the page says of it.
using ToldIn = std::map<std::string, std::string>;

std::string cells_of(const TableField& field) {
    return field.type + " | " + (field.unit == "1" ? "" : field.unit) + " | " + field.description;
}

/// Neighbouring columns that the same table above has share a row that names it; one alone, only
/// where that is shorter.
std::string rows_of(const TableDescription& table, ToldIn& told,
                    const std::function<bool(const std::string&)>& elsewhere) {
    std::vector<TableField> fields = table.fields;
    if (elsewhere)
        std::erase_if(fields, [&](const TableField& field) { return elsewhere(field.name); });
    const auto teller = [&](const TableField& field) {
        return told.try_emplace(field.name + " " + cells_of(field), table.path).first->second;
    };
    std::string rows;
    for (std::size_t i = 0; i < fields.size(); ++i) {
        const std::string first = teller(fields[i]), name = "`" + fields[i].name + "`";
        const std::string row = "| " + name + " | " + cells_of(fields[i]) + " |\n";
        std::string names = name;
        while (first != table.path && i + 1 < fields.size() && teller(fields[i + 1]) == first)
            names += ", `" + fields[++i].name + "`";
        const std::string shared = "| " + names + " | | | as in `" + first + "` |\n";
        const bool here = first == table.path || (names == name && row.size() <= shared.size());
        rows += here ? row : shared;
    }
    return rows;
}

/// Those that the page has a heading for, in its order.
std::vector<const TableDescription*> in_page_order(const std::string& page,
                                                   std::span<const TableDescription> tables) {
    std::map<std::size_t, const TableDescription*> at;
    for (const TableDescription& table : tables) at.emplace(page.find(heading_of(table)), &table);
    at.erase(std::string::npos);
    std::vector<const TableDescription*> sorted;
    for (const auto& [position, table] : at) sorted.push_back(table);
    return sorted;
}

}  // namespace

std::string with_described_columns(const std::string& page,
                                   std::span<const TableDescription> tables,
                                   const std::function<bool(const std::string&)>& elsewhere) {
    std::string result = page;
    ToldIn told;
    for (const TableDescription* table : in_page_order(page, tables)) {
        const std::size_t heading = result.find(heading_of(*table));
        const std::size_t next = result.find("\n#", heading);
        const std::size_t head = result.find(kColumnsHead, heading);
        if (head == std::string::npos || head > next) continue;
        const std::size_t from = head + kColumnsHead.size();
        std::size_t to = from;
        while (result.compare(to, 2, "| ") == 0) to = result.find('\n', to) + 1;
        result.replace(from, to - from, rows_of(*table, told, elsewhere));
    }
    return result;
}

}  // namespace hearwood

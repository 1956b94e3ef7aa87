#include "base/table.h"

#include <algorithm>
#include <map>
#include <span>
#include <utility>
#include <vector>

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

constexpr std::string_view kColumnsHead = "\nColumns:\n\n";

std::string heading_of(const TableDescription& table) {
    return "### `" + table.path + "`";
}

/// Which table of the page tells of a column first, by all that the page says of it.
using ToldIn = std::map<std::string, std::string>;

/// What the page says of a column: " (h): hour of the local clock". datapackage.json has its type.
std::string told_of(const TableField& field) {
    const bool unit = !field.unit.empty() && field.unit != "1";
    return (unit ? " (" + field.unit + "): " : ": ") + field.description;
}

/// Columns of which a table above says the same share one row, first in the list, that names it;
/// one alone only where that is shorter. Neighbours of which the same is said share a row.
std::string rows_of(const TableDescription& table, ToldIn& told,
                    const std::function<bool(const std::string&)>& elsewhere) {
    std::vector<std::pair<std::string, std::vector<const TableField*>>> above;
    std::vector<std::vector<const TableField*>> own;
    const auto row = [](std::span<const TableField* const> fields, const std::string& told_so) {
        std::string names;
        for (const TableField* field : fields)
            names += (names.empty() ? "`" : ", `") + field->name + "`";
        return "* " + names + told_so + "\n";
    };
    for (const TableField& field : table.fields) {
        if (elsewhere && elsewhere(field.name)) continue;
        const auto& teller =
            told.try_emplace(field.name + told_of(field), table.path).first->second;
        auto group = std::find_if(above.begin(), above.end(),
                                  [&](const auto& each) { return each.first == teller; });
        if (teller == table.path && !own.empty() && told_of(*own.back()[0]) == told_of(field))
            own.back().push_back(&field);
        else if (teller == table.path)
            own.push_back({&field});
        else if (group == above.end())
            above.push_back({teller, {&field}});
        else
            group->second.push_back(&field);
    }
    std::string rows;
    for (const auto& [teller, fields] : above) {
        const std::string whole = row(fields, told_of(*fields[0]));
        const std::string named = row(fields, ": as in `" + teller + "`");
        rows += fields.size() == 1 && whole.size() <= named.size() ? whole : named;
    }
    for (const auto& fields : own) rows += row(fields, told_of(*fields[0]));
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
        while (to < result.size() && result[to] != '\n')
            to = std::min(result.find('\n', to), result.size() - 1) + 1;
        result.replace(from, to - from, rows_of(*table, told, elsewhere));
    }
    return result;
}

}  // namespace hearwood

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

}  // namespace hearwood

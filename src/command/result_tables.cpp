#include "command/result_tables.h"

#include "contrast/tables.h"
#include "listen/score.h"

namespace hearwood {

std::vector<TableDescription> result_tables() {
    std::vector<TableDescription> tables = contrast_tables();
    for (TableDescription& table : listening_tables()) tables.push_back(std::move(table));
    return tables;
}

}  // namespace hearwood

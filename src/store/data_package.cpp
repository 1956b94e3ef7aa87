#include "store/data_package.h"

#include <nlohmann/json.hpp>

#include "store/json.h"

namespace hearwood {

namespace {

// Keys stay in the order in which they are written here.
using Json = nlohmann::ordered_json;

/// Either one name or a list, as the Table Schema has both.
Json names(const std::vector<std::string>& list) {
    return list.size() == 1 ? Json(list.front()) : Json(list);
}

void set_text(Json& object, const char* key, const std::string& value) {
    if (!value.empty()) object[key] = value;
}

Json constraints_of(const TableField& field) {
    Json constraints = Json::object();
    if (field.required) constraints["required"] = true;
    if (field.unique) constraints["unique"] = true;
    if (field.minimum) constraints["minimum"] = *field.minimum;
    if (field.maximum) constraints["maximum"] = *field.maximum;
    if (!field.values.empty()) constraints["enum"] = field.values;
    return constraints;
}

Json field_json(const TableField& field) {
    Json json{{"name", field.name}, {"type", field.type}};
    set_text(json, "format", field.format);
    set_text(json, "title", field.title);
    set_text(json, "description", field.description);
    set_text(json, "unit", field.unit);
    set_text(json, "rdfType", field.rdf_type);
    if (Json constraints = constraints_of(field); !constraints.empty())
        json["constraints"] = std::move(constraints);
    return json;
}

Json schema_json(const TableDescription& table) {
    Json schema;
    for (const TableField& field : table.fields) schema["fields"].push_back(field_json(field));
    schema["missingValues"] = {""};
    if (!table.primary_key.empty()) schema["primaryKey"] = names(table.primary_key);
    for (const ForeignKey& key : table.foreign_keys)
        schema["foreignKeys"].push_back(
            {{"fields", names(key.fields)},
             {"reference", {{"resource", key.table}, {"fields", names(key.reference)}}}});
    return schema;
}

Json resource_json(const TableDescription& table) {
    Json json{{"name", table.name}, {"path", table.path}, {"profile", "tabular-data-resource"}};
    set_text(json, "title", table.title);
    set_text(json, "description", table.description);
    json["format"] = "csv";
    json["mediatype"] = "text/csv";
    json["encoding"] = "utf-8";
    json["dialect"] = {
        {"delimiter", ","}, {"lineTerminator", "\n"}, {"doubleQuote", true}, {"header", true}};
    json["bytes"] = table.bytes;
    if (!table.sha256.empty()) json["hash"] = "sha256:" + table.sha256;
    json["schema"] = schema_json(table);
    return json;
}

}  // namespace

std::string data_package_json(const PackageDescription& package,
                              const std::vector<TableDescription>& tables) {
    Json json{{"profile", "tabular-data-package"}, {"name", package.name}};
    set_text(json, "title", package.title);
    set_text(json, "description", package.description);
    set_text(json, "version", package.version);
    for (const auto& [key, value] : package.properties) json[key] = value;
    json["resources"] = Json::array();
    for (const TableDescription& table : tables) json["resources"].push_back(resource_json(table));
    return json_text(json, 2) + "\n";
}

}  // namespace hearwood

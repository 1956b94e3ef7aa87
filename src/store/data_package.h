// datapackage.json: a Frictionless Data Package (version 1 of the specification) with a Table
// Schema for each table, from plain descriptions. Key order is fixed; no time stamps.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace hearwood {

struct TableField {
    std::string name{};
    std::string type{};  ///< "string", "number", "integer", "boolean", "date", "datetime"
    std::string title{};
    std::string description{};
    std::string unit{};      ///< written as the property "unit"; empty: none
    std::string rdf_type{};  ///< URI of the Darwin Core term or the like that the column is tied to
    std::string format{};    ///< of a date or time that is not written the type's own way
    bool required = false;
    bool unique = false;
    std::optional<double> minimum{}, maximum{};
    std::vector<std::string> values{};  ///< enum; empty: any
};

struct ForeignKey {
    std::vector<std::string> fields{};
    std::string table{};  ///< name of the resource
    std::vector<std::string> reference{};
};

struct TableDescription {
    std::string name{};  ///< resource name: lower case, digits, - . _
    std::string path{};  ///< relative to datapackage.json
    std::string title{}, description{};
    std::vector<TableField> fields{};
    std::vector<std::string> primary_key{};
    std::vector<ForeignKey> foreign_keys{};
    std::uint64_t bytes = 0;
    std::string sha256{};  ///< written as "sha256:..."
};

struct PackageDescription {
    std::string name{}, title{}, description{}, version{};
    /// Further properties of the package, as text: program version, settings hash, hashes of the
    /// inputs.
    std::vector<std::pair<std::string, std::string>> properties{};
};

/// The whole file, with a final newline.
std::string data_package_json(const PackageDescription& package,
                              const std::vector<TableDescription>& tables);

}  // namespace hearwood

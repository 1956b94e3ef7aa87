// datapackage.json: a Frictionless Data Package (version 1 of the specification) with a Table
// Schema for each table, from plain descriptions. Key order is fixed; no time stamps.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "base/table.h"

namespace hearwood {

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

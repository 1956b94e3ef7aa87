// datapackage.json: what is in the folder, described.
#include <algorithm>
#include <fstream>

#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/sha256.h"
#include "base/sheet.h"
#include "base/text.h"
#include "base/version.h"
#include "store/data_package.h"
#include "store/store.h"

namespace hearwood {
namespace {

/// "Heath forest, dry season" -> "heath-forest-dry-season": a package's name has no other
/// characters.
std::string package_name(const std::string& title) {
    std::string name;
    for (const char c : to_lower_ascii(title)) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
        if (plain)
            name += c;
        else if (!name.empty() && name.back() != '-')
            name += '-';
    }
    while (!name.empty() && name.back() == '-') name.pop_back();
    return name.empty() ? "survey" : name;
}

std::vector<std::string> header_in(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::string line;
    std::getline(in, line);
    std::vector<Problem> problems;
    return parse_sheet(line + "\n", file.filename().string(), problems).header;
}

/// The tables that stand in the folder, in the order of the docs.
std::vector<TableDescription> described(const Survey& survey, const std::filesystem::path& folder,
                                        std::span<const TableDescription> results) {
    std::vector<TableDescription> tables = survey_tables(survey);
    for (const TableDescription& result : results)
        if (std::filesystem::exists(folder / result.path))
            tables.push_back(described_by_header(result, header_in(folder / result.path)));
    std::erase_if(tables, [&](const TableDescription& t) {
        return !std::filesystem::exists(folder / t.path);
    });
    for (TableDescription& table : tables) {
        table.bytes = std::filesystem::file_size(folder / table.path);
        table.sha256 = sha256_of_file(folder / table.path);
    }
    return tables;
}

TableField unknown_field(const std::string& name) {
    TableField field;
    field.name = field.title = name;
    field.type = "string";
    field.description = "of an older version";
    return field;
}

std::string input_hash(const Survey& survey, const char* sheet) {
    return sha256_of_file(survey.folder / sheet);
}

}  // namespace

TableDescription described_by_header(const TableDescription& table,
                                     const std::vector<std::string>& header) {
    TableDescription described = table;
    described.fields.clear();
    for (const std::string& name : header) {
        const auto known =
            std::find_if(table.fields.begin(), table.fields.end(),
                         [&](const TableField& field) { return field.name == name; });
        described.fields.push_back(known != table.fields.end() ? *known : unknown_field(name));
    }
    return described;
}

std::string data_package_of(const Survey& survey, const Store& store,
                            const std::filesystem::path& folder, const std::string& below,
                            std::span<const TableDescription> results) {
    PackageDescription package;
    package.name = package_name(survey.title);
    package.title = survey.title;
    package.description =
        "Acoustic indices and levels of '" + survey.title +
        "', by segment, by site and hour, and by site and window, with the contrast between "
        "its stand classes. Missing values are empty fields. A text that begins with = + - @ "
        "or an apostrophe has an apostrophe in front.";
    package.version = kVersion;
    package.properties.emplace_back("hearwood_version", kVersion);
    if (const auto settings = store.settings()) {
        package.properties.emplace_back("settings_sha256", settings->hash);
        package.properties.emplace_back("settings", settings->json);
    }
    package.properties.emplace_back("time_zone", survey.time_zone);
    for (const char* sheet : {"survey.toml", "sites.csv", "deployments.csv"})
        package.properties.emplace_back(std::string(sheet) + "_sha256", input_hash(survey, sheet));
    if (std::filesystem::exists(survey.folder / "decisions.csv"))
        package.properties.emplace_back("decisions.csv_sha256",
                                        input_hash(survey, "decisions.csv"));
    std::vector<TableDescription> tables = described(survey, folder / below, results);
    for (TableDescription& table : tables) table.path = below + table.path;
    return data_package_json(package, tables);
}

void write_data_package(const Survey& survey, const Store& store,
                        const std::filesystem::path& folder,
                        std::span<const TableDescription> results) {
    write_whole_file(folder / "datapackage.json",
                     data_package_of(survey, store, folder, "", results));
}

}  // namespace hearwood

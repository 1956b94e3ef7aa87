// Tables that the program writes. A table is described once, beside the struct that is its row: a
// line a column, with name, unit, meaning and where its value comes from. Header, cells, CSV file,
// data package and docs/tables.md all follow that description, so a column that is written is
// described, and the other way round.
//
//     TableOf<Visit>("visits.csv", "visits", "A row is a visit.")
//         .column("site", "", "recording site", &Visit::site)
//         .column("days", "d", "days out", [](const Visit& v) { return v.seconds / 86400; })
#pragma once

#include <cmath>
#include <concepts>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "base/csv_writer.h"

namespace hearwood {

/// A column as the data package has it (Frictionless Table Schema).
struct TableField {
    std::string name{};
    std::string type{};  ///< "string", "number", "integer", "boolean", "date", "datetime"
    std::string title{};
    std::string description{};
    std::string unit{};      ///< "1" for a pure number; empty: none, or that of the index
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

/// "site_hours.csv" gets the resource name "site-hours".
TableDescription describe_table(std::string file, std::string title, std::string description);
std::vector<std::string> header_of(const TableDescription& table);

/// NaN and an empty optional are missing, a bool is 1 or 0, a cell is itself.
template <class Value>
TableCell table_cell(const Value& value) {
    if constexpr (std::is_same_v<Value, TableCell>) {
        return value;
    } else if constexpr (requires { value.has_value(); }) {
        return value ? table_cell(*value) : TableCell{};
    } else if constexpr (std::is_integral_v<Value>) {
        return static_cast<std::int64_t>(value);
    } else if constexpr (std::is_floating_point_v<Value>) {
        if (std::isnan(value)) return {};
        return static_cast<double>(value);
    } else {
        return std::string(value);
    }
}

/// Of the values that table_cell() takes.
template <class Value>
constexpr const char* table_type() {
    if constexpr (requires(const Value& v) { v.has_value(); })
        return table_type<typename Value::value_type>();
    else if constexpr (std::is_same_v<Value, bool>)
        return "boolean";
    else if constexpr (std::is_integral_v<Value>)
        return "integer";
    else if constexpr (std::is_floating_point_v<Value>)
        return "number";
    else
        return "string";
}

/// The manual's page with the columns of these tables as described: the list below each heading
/// "### `contrasts.csv`" that has a line "Columns:" and an empty one below it. What a table
/// above says in the same words is named only; columns for which `elsewhere` holds are left out.
std::string with_described_columns(const std::string& page,
                                   std::span<const TableDescription> tables,
                                   const std::function<bool(const std::string&)>& elsewhere = {});

template <class Row>
class TableOf {
  public:
    TableOf(std::string file, std::string title, std::string description)
        : description_(describe_table(std::move(file), std::move(title), std::move(description))) {}

    /// `get` is a member of the row, or a function of it; what it gives says the column's type:
    /// bool, whole numbers, floating point (NaN: missing), optional of these, or text.
    template <class Get>
    TableOf& column(std::string name, std::string unit, std::string meaning, Get get) {
        using Value = std::decay_t<std::invoke_result_t<Get, const Row&>>;
        TableField field;
        field.title = name;
        field.name = std::move(name);
        field.type = table_type<Value>();
        field.unit = std::move(unit);
        field.description = std::move(meaning);
        return column(std::move(field), std::move(get));
    }
    /// With all that the data package may say of a column.
    template <class Get>
    TableOf& column(TableField field, Get get) {
        description_.fields.push_back(std::move(field));
        getters_.push_back(
            [get = std::move(get)](const Row& row) { return table_cell(std::invoke(get, row)); });
        return *this;
    }
    TableOf& key(std::vector<std::string> columns) {
        description_.primary_key = std::move(columns);
        return *this;
    }
    TableOf& refers(ForeignKey key) {
        description_.foreign_keys.push_back(std::move(key));
        return *this;
    }

    const TableDescription& description() const { return description_; }
    std::size_t columns() const { return getters_.size(); }
    TableCell cell(const Row& row, std::size_t column) const { return getters_[column](row); }
    /// Parallel to the description's fields.
    std::vector<TableCell> cells(const Row& row) const {
        std::vector<TableCell> cells;
        cells.reserve(getters_.size());
        for (const auto& get : getters_) cells.push_back(get(row));
        return cells;
    }

  private:
    TableDescription description_;
    std::vector<std::function<TableCell(const Row&)>> getters_;
};

/// A file of a table, row by row: whole under its name once commit() came back.
template <class Row>
class TableFile {
  public:
    TableFile(TableOf<Row> table, const std::filesystem::path& path)
        : table_(std::move(table)), csv_(path, header_of(table_.description())) {}

    void add(const Row& row) {
        for (std::size_t i = 0; i < table_.columns(); ++i) csv_.cell(table_.cell(row, i));
        csv_.end_row();
    }
    std::uint64_t rows() const { return csv_.rows(); }
    CsvWriter::Written commit() { return csv_.commit(); }

  private:
    TableOf<Row> table_;
    CsvWriter csv_;
};

/// All rows at once. Errors: MachineError; the file is then as it was.
template <class Row>
void write_table(const TableOf<Row>& table, std::span<const std::type_identity_t<Row>> rows,
                 const std::filesystem::path& path) {
    TableFile<Row> file(table, path);
    for (const Row& row : rows) file.add(row);
    file.commit();
}

/// The bytes that write_table() writes.
template <class Row>
std::string csv_of(const TableOf<Row>& table, std::span<const std::type_identity_t<Row>> rows) {
    std::string bytes = csv_line(header_of(table.description()));
    for (const Row& row : rows) bytes += csv_line(table.cells(row));
    return bytes;
}

}  // namespace hearwood

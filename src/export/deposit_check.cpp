// A deposit read back as a stranger would: by its sums and by what it says of itself.
#include <csv.h>
#include <expat.h>
#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <nlohmann/json.hpp>

#include "base/error.h"
#include "base/text.h"
#include "base/wall_time.h"
#include "card/checksums.h"
#include "export/deposit.h"
#include "export/deposit_files.h"
#include "store/json.h"

namespace hearwood {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

constexpr const char* kNeeded[] = {"README.md",        "methods.md",       "CITATION.cff",
                                   "event.csv",        "meta.xml",         "eml.xml",
                                   "sheets/sites.csv", "datapackage.json", "page/index.html"};
constexpr std::size_t kMostOfTable = 5;  // problems; a table that is wrong is wrong everywhere
constexpr std::size_t kDateTime = 19;    // 2031-05-04T05:40:00

/// A cell as the Table Schema has it; missing ones are not asked about.
bool is_of_type(const std::string& type, const std::string& cell) {
    if (type == "number") return parse_number(cell) || cell == "INF" || cell == "-INF";
    if (type == "integer") return parse_integer(cell).has_value();
    if (type == "boolean") return cell == "1" || cell == "0" || cell == "true" || cell == "false";
    if (type == "date") return parse_date(cell).has_value();
    if (type == "datetime")
        return cell.size() >= kDateTime &&
               parse_local_time(std::string_view(cell).substr(0, kDateTime)).has_value();
    return true;
}

/// One table against its schema, row by row.
class TableCheck {
  public:
    TableCheck(const Json& resource, DepositCheck& check)
        : check_(check), path_(resource.value("path", "")) {
        for (const Json& field : resource["schema"]["fields"]) fields_.push_back(field);
    }

    void read(const DepositFiles& files) {
        csv_parser parser;
        csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI);
        const std::unique_ptr<csv_parser, decltype(&csv_free)> guard(&parser, csv_free);
        files.read(path_, [&](std::string_view block) {
            if (!failed_ && csv_parse(&parser, block.data(), block.size(), on_field, on_row,
                                      this) != block.size())
                failed_ = true;
        });
        if (!failed_) failed_ = csv_fini(&parser, on_field, on_row, this) != 0;
        if (failed_) tell(rows_ + 1, "is no CSV from here on");
        check_.rows += rows_ > 0 ? rows_ - 1 : 0;
        ++check_.tables;
    }

  private:
    static void on_field(void* bytes, std::size_t size, void* self) {
        static_cast<TableCheck*>(self)->cells_.emplace_back(static_cast<const char*>(bytes), size);
    }
    static void on_row(int, void* self) { static_cast<TableCheck*>(self)->row(); }

    void tell(std::size_t line, const std::string& what) {
        if (told_++ < kMostOfTable)
            check_.problems.push_back(fmt::format("{}, row {}: {}", path_, line, what));
    }

    void row() {
        ++rows_;
        if (cells_.size() != fields_.size())
            tell(rows_, fmt::format("{} where the data package has {}",
                                    counted(cells_.size(), "field"), fields_.size()));
        for (std::size_t i = 0; i < std::min(cells_.size(), fields_.size()); ++i)
            rows_ == 1 ? check_name(i) : check_cell(i);
        cells_.clear();
    }
    void check_name(std::size_t i) {
        if (const std::string name = fields_[i].value("name", ""); cells_[i] != name)
            tell(1, fmt::format("column '{}' where the data package has '{}'", printable(cells_[i]),
                                printable(name)));
    }
    void check_cell(std::size_t i) {
        const std::string& cell = cells_[i];
        const Json constraints = fields_[i].value("constraints", Json::object());
        const std::string name = printable(fields_[i].value("name", ""));
        if (cell.empty()) {
            if (constraints.value("required", false)) tell(rows_, name + " is empty");
            return;
        }
        const std::string type = fields_[i].value("type", "string");
        if (!is_of_type(type, cell))
            return tell(rows_, fmt::format("{}: '{}' is no {}", name, printable(cell), type));
        if (const auto number = parse_number(cell)) {
            if (constraints.contains("minimum") && *number < constraints["minimum"])
                tell(rows_, fmt::format("{}: {} is too small", name, cell));
            if (constraints.contains("maximum") && *number > constraints["maximum"])
                tell(rows_, fmt::format("{}: {} is too large", name, cell));
        }
        if (constraints.contains("enum")) {
            const Json& values = constraints["enum"];
            if (std::find(values.begin(), values.end(), Json(cell)) == values.end())
                tell(rows_, fmt::format("{}: '{}' is none of its values", name, printable(cell)));
        }
    }

    DepositCheck& check_;
    std::string path_;
    std::vector<Json> fields_;
    std::vector<std::string> cells_;
    std::size_t rows_ = 0, told_ = 0;
    bool failed_ = false;
};

class Checker {
  public:
    explicit Checker(const fs::path& place) : files_(open_deposit(place)), place_(place) {}

    DepositCheck check() {
        if (!files_->has("datapackage.json"))
            throw InputError(printable(place_.native()) + ": is no deposit",
                             "name the folder or the .zip that 'hearwood deposit' wrote");
        check_sums();
        for (const char* name : kNeeded)
            if (!files_->has(name)) tell(std::string(name) + ": is missing");
        check_package();
        for (const char* name : {"meta.xml", "eml.xml"}) check_xml(name);
        return std::move(check_);
    }

  private:
    void tell(std::string problem) { check_.problems.push_back(std::move(problem)); }

    void check_sums() {
        if (!files_->has(Checksums::kFileName))
            return tell("SHA256SUMS: is missing; the deposit was not finished");
        const Checksums sums = Checksums::parse(files_->whole(Checksums::kFileName));
        for (const std::string& trouble : sums.troubles()) tell("SHA256SUMS: " + trouble);
        for (const auto& [name, sum] : sums.by_name()) {
            if (!files_->has(name))
                tell(printable(name) + ": is missing");
            else if (files_->sha256(name) != sum)
                tell(printable(name) + ": is not what was written");
            ++check_.files;
        }
        for (const auto& [name, size] : files_->sizes())
            if (name != Checksums::kFileName && sums.find(name).empty())
                tell(printable(name) + ": is not in SHA256SUMS");
    }

    void check_package() {
        const Json package = read_json_if_any(files_->whole("datapackage.json"));
        if (!package.is_object() || !package.contains("resources"))
            return tell("datapackage.json: is no data package");
        for (const Json& resource : package["resources"]) {
            const std::string path = resource.value("path", "");
            if (!files_->has(path)) {
                tell(fmt::format("datapackage.json: there is no table '{}'", printable(path)));
                continue;
            }
            if (resource.value("bytes", std::uint64_t{0}) != files_->sizes().at(path) ||
                resource.value("hash", "") != "sha256:" + files_->sha256(path))
                tell(printable(path) + ": is not what datapackage.json tells of");
            TableCheck(resource, check_).read(*files_);
        }
    }

    void check_xml(const char* name) {
        if (!files_->has(name)) return;
        const std::string bytes = files_->whole(name);
        const std::unique_ptr<XML_ParserStruct, decltype(&XML_ParserFree)> parser(
            XML_ParserCreate(nullptr), XML_ParserFree);
        if (XML_Parse(parser.get(), bytes.data(), static_cast<int>(bytes.size()), 1) !=
            XML_STATUS_OK)
            tell(fmt::format("{}, line {}: {}", name, XML_GetCurrentLineNumber(parser.get()),
                             XML_ErrorString(XML_GetErrorCode(parser.get()))));
    }

    std::unique_ptr<DepositFiles> files_;
    fs::path place_;
    DepositCheck check_;
};

}  // namespace

DepositCheck check_deposit(const fs::path& place) {
    return Checker(place).check();
}

}  // namespace hearwood

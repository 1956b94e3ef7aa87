#include "listen/key.h"

#include "base/sheet.h"
#include "store/csv_writer.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

constexpr const char* kName = "listening_key.csv";
const std::vector<std::string> kKeyHeader = {"sheet",   "clip",    "repeat_of", "recording",
                                             "channel", "segment", "site",      "window",
                                             "third",   "weight",  "from_s",    "to_s"};

}  // namespace

fs::path listening_key(const fs::path& survey_folder) {
    return survey_folder / "hearwood" / kName;
}

void write_key(const fs::path& survey_folder, std::span<const KeyLine> lines) {
    CsvWriter csv(listening_key(survey_folder), kKeyHeader);
    for (const KeyLine& line : lines) {
        for (const std::string& text : {line.sheet, line.clip, line.repeat_of, line.recording})
            csv.text(text);
        csv.integer(line.channel);
        csv.integer(line.segment);
        csv.text(line.site);
        csv.text(line.window);
        csv.integer(line.third);
        for (const double number : {line.weight, line.from_s, line.to_s}) csv.number(number);
        csv.end_row();
    }
    csv.commit();
}

std::vector<KeyLine> read_key(const fs::path& survey_folder) {
    const fs::path file = listening_key(survey_folder);
    if (!fs::exists(file))
        throw InputError(file.string() + ": there is no listening sheet to score",
                         "draw one with hearwood listen");
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(file, kName, problems);
    if (problems.empty() && sheet.header != kKeyHeader)
        problems.push_back({kName, sheet.header_line, 0, "", "",
                            "its columns are not those that listen writes",
                            "restore the file, or draw a new sheet with --force"});
    std::vector<KeyLine> lines;
    if (problems.empty())
        for (const SheetRow& row : sheet.rows) {
            const auto number = [&](std::size_t column) {
                return number_or_problem(sheet, row, column, problems).value_or(0);
            };
            const auto& c = row.cells;
            // A clip's name becomes a file's name, which forget removes.
            if (c[1].empty() || c[1].find_first_of("/.") != std::string::npos)
                problems.push_back({kName, row.line, 2, "clip", c[1],
                                    "not a clip's name: letters and digits alone",
                                    "restore the file, or draw a new sheet with --force"});
            lines.push_back({c[0], c[1], c[2], c[3], static_cast<int>(number(4)),
                             static_cast<int>(number(5)), c[6], c[7], static_cast<int>(number(8)),
                             number(9), number(10), number(11)});
        }
    if (!problems.empty()) throw InputError(problems);
    return lines;
}

}  // namespace hearwood

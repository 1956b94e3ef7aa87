#include "listen/key.h"

#include <set>

#include "base/sheet.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

constexpr const char* kName = "listening_key.csv";
constexpr const char* kFix = "restore the file, or draw a new sheet with --force";
// Beyond what any recording has.
constexpr int kMostChannel = 1023, kMostSegment = 1 << 22;
constexpr double kLongestS = 1e9;

}  // namespace

fs::path listening_key(const fs::path& survey_folder) {
    return survey_folder / "hearwood" / kName;
}

TableOf<KeyLine> key_table() {
    using Line = KeyLine;
    return TableOf<Line>(kName, "listening key", "A row is a clip of the listening sheet.")
        .column("sheet", "", "name of the sheet, the same in every row", &Line::sheet)
        .column("clip", "", "name of the clip in the page and the answers", &Line::clip)
        .column("repeat_of", "", "the clip that it repeats; empty: none", &Line::repeat_of)
        .column("recording", "", "path from the survey folder", &Line::recording)
        .column("channel", "1", "channel of the recording, counted from 0", &Line::channel)
        .column("segment", "1", "segment of the recording, counted from 0", &Line::segment)
        .column("site", "", "recording site", &Line::site)
        .column("window", "", "named part of the day", &Line::window)
        .column("third", "1", "which third of the index's values it was drawn from", &Line::third)
        .column("weight", "1", "segments that the clip stands for", &Line::weight)
        .column("from_s", "s", "begin of the clip in the recording", &Line::from_s)
        .column("to_s", "s", "its end", &Line::to_s);
}

void write_key(const fs::path& survey_folder, std::span<const KeyLine> lines) {
    write_table(key_table(), lines, listening_key(survey_folder));
}

std::vector<KeyLine> read_key(const fs::path& survey_folder) {
    const fs::path file = listening_key(survey_folder);
    if (!fs::exists(file))
        throw InputError(file.string() + ": there is no listening sheet to score",
                         "draw one with hearwood listen");
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(file, kName, problems);
    if (problems.empty() && sheet.header != header_of(key_table().description()))
        problems.push_back({kName, sheet.header_line, 0, "", "",
                            "its columns are not those that listen writes", kFix});
    std::set<std::string> clips;
    for (const SheetRow& row : sheet.rows)
        if (problems.empty()) clips.insert(row.cells[1]);
    std::vector<KeyLine> lines;
    if (problems.empty())
        for (const SheetRow& row : sheet.rows) {
            const auto number = [&](std::size_t column, double least, double most) {
                const double value = number_or_problem(sheet, row, column, problems).value_or(0);
                if (value >= least && value <= most) return value;
                problems.push_back(
                    sheet_problem(sheet, row, column, "no such number is written here", kFix));
                return least;
            };
            const auto whole = [&](std::size_t column, int least, int most) {
                return static_cast<int>(number(column, least, most));
            };
            const auto& c = row.cells;
            // A clip's name becomes a file's name, which forget removes.
            if (c[1].empty() || c[1].find_first_of("/.") != std::string::npos)
                problems.push_back(sheet_problem(
                    sheet, row, 1, "not a clip's name: letters and digits alone", kFix));
            if (!c[2].empty() && !clips.contains(c[2]))
                problems.push_back(
                    sheet_problem(sheet, row, 2, "no clip of the sheet has this name", kFix));
            lines.push_back({c[0], c[1], c[2], c[3], whole(4, 0, kMostChannel),
                             whole(5, 0, kMostSegment), c[6], c[7], whole(8, -1, 2),
                             number(9, 0, 1e12), number(10, 0, kLongestS),
                             number(11, 0, kLongestS)});
        }
    if (!problems.empty()) throw InputError(problems);
    return lines;
}

}  // namespace hearwood

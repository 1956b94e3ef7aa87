#include "store/forgotten.h"

#include <array>

#include "base/csv_cell.h"
#include "base/error.h"
#include "base/file.h"
#include "base/sheet.h"
#include "base/text.h"

namespace hearwood {
namespace {

constexpr const char* kForgottenFile = "hearwood/forgotten.csv";
constexpr const char* kHeader =
    "recording,from_s,to_s,sha256_before,sha256_after,forgotten_utc,reason\n";
constexpr std::array<const char*, 7> kForgottenColumns = {
    "recording", "from_s", "to_s", "sha256_before", "sha256_after", "forgotten_utc", "reason"};

/// What append_csv_text() put before a text that a spreadsheet would run as a formula.
std::string unguarded(const std::string& cell) {
    const bool guarded = cell.size() > 1 && cell[0] == '\'' &&
                         kGuardedStarts.find(cell[1]) != std::string_view::npos;
    return guarded ? cell.substr(1) : cell;
}

[[noreturn]] void refuse(std::size_t line, const std::string& what) {
    throw InputError(
        {Problem{.file = kForgottenFile,
                 .line = line,
                 .what = what,
                 .fix = "put the file back as `hearwood forget` wrote it: it says what "
                        "must stay silent"}});
}

}  // namespace

std::filesystem::path forgotten_file(const std::filesystem::path& survey_folder) {
    return survey_folder / kForgottenFile;
}

std::vector<ForgottenStretch> read_forgotten(const std::filesystem::path& survey_folder) {
    std::vector<ForgottenStretch> stretches;
    std::error_code ignored;
    if (!std::filesystem::exists(forgotten_file(survey_folder), ignored)) return stretches;
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(forgotten_file(survey_folder), kForgottenFile, problems);
    if (any_error(problems)) throw InputError(std::move(problems));
    std::array<std::size_t, kForgottenColumns.size()> at{};
    for (std::size_t i = 0; i < kForgottenColumns.size(); ++i) {
        const auto column = sheet.column(kForgottenColumns[i]);
        if (!column) refuse(1, std::string("the column ") + kForgottenColumns[i] + " is missing");
        at[i] = *column;
    }
    for (const SheetRow& row : sheet.rows) {
        const auto cell = [&](std::size_t i) {
            return at[i] < row.cells.size() ? unguarded(row.cells[at[i]]) : std::string();
        };
        const auto from = parse_number(cell(1)), to = parse_number(cell(2));
        if (cell(0).empty() || !from || !to || !(*from < *to))
            refuse(row.line, "no stretch of a recording");
        stretches.push_back({cell(0), *from, *to, cell(3), cell(4), cell(5), cell(6)});
    }
    return stretches;
}

void write_forgotten(const std::filesystem::path& survey_folder,
                     const std::vector<ForgottenStretch>& stretches) {
    std::string text = kHeader;
    for (const ForgottenStretch& one : stretches) {
        append_csv_text(text, one.recording);
        text += "," + format_number(one.from_s) + "," + format_number(one.to_s) + "," +
                one.sha256_before + "," + one.sha256_after + "," + one.forgotten_utc + ",";
        append_csv_text(text, one.reason);
        text += "\n";
    }
    make_folder(forgotten_file(survey_folder).parent_path());
    write_whole_file(forgotten_file(survey_folder), text);
}

}  // namespace hearwood

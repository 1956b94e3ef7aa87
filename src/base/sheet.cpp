#include "base/sheet.h"

#include <csv.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <memory>
#include <unordered_map>
#include <utility>

#include "base/csv_cell.h"
#include "base/file.h"
#include "base/text.h"

namespace hearwood {

namespace {

constexpr std::size_t kSheetCells = 16'000'000;
constexpr const char* kSaveAsUtf8 =
    "in the spreadsheet choose save as, comma-separated text (CSV), character set UTF-8";

/// A cell without the spaces around it and without the apostrophe that append_csv_text() put in
/// front.
std::string cell_text(std::string_view field) {
    std::string cell = trim(field);
    if (cell.size() > 1 && cell[0] == '\'' && kGuardedStarts.find(cell[1]) != std::string::npos)
        return trim(std::string_view(cell).substr(1));
    return cell;
}

/// Feeds libcsv one byte at a time, which is how the line of every row is known.
class Parser {
  public:
    Parser(Sheet& sheet, std::vector<Problem>& problems) : sheet_(sheet), problems_(problems) {
        // Strict: a quotation mark inside an unquoted field is told, where the library would guess.
        csv_init(&csv_, CSV_STRICT | CSV_STRICT_FINI);
        csv_set_delim(&csv_, static_cast<unsigned char>(sheet.delimiter));
        if (sheet.delimiter == '\t')
            csv_set_space_func(&csv_, [](unsigned char c) { return c == ' ' ? 1 : 0; });
    }
    ~Parser() { csv_free(&csv_); }
    Parser(const Parser&) = delete;
    Parser& operator=(const Parser&) = delete;

    void parse(std::string_view bytes, std::size_t first_line) {
        line_ = first_line;
        for (std::size_t i = 0; i < bytes.size() && !sheet_.broken; ++i) {
            const char c = bytes[i];
            const bool ends_line =
                c == '\n' || (c == '\r' && (i + 1 == bytes.size() || bytes[i + 1] != '\n'));
            if (row_line_ == 0 && c != '\n' && c != '\r') row_line_ = line_;
            if (csv_parse(&csv_, &c, 1, on_field, on_row, this) != 1) return stray_quote();
            if (csv_.entry_pos > kSheetFieldBytes)
                stop(fmt::format("a field is longer than {} bytes", kSheetFieldBytes),
                     "a quotation mark that never closes is the usual cause; correct the line and "
                     "save again");
            if (ends_line) ++line_;
        }
        if (sheet_.broken) return;
        if (csv_fini(&csv_, on_field, on_row, this) != 0)
            stop("a quoted field begins in this row and never ends",
                 "close it with a quotation mark");
    }

  private:
    static void on_field(void* text, std::size_t size, void* self) {
        static_cast<Parser*>(self)->field(text ? std::string_view(static_cast<char*>(text), size)
                                               : std::string_view());
    }
    static void on_row(int, void* self) { static_cast<Parser*>(self)->row(); }

    void field(std::string_view text) {
        if (fields_.size() == kSheetColumns)
            return stop(fmt::format("more than {} columns", kSheetColumns),
                        "this cannot be the sheet that was meant");
        fields_.push_back(cell_text(text));
    }

    void row() {
        if (sheet_.broken) return;
        const std::size_t line = std::exchange(row_line_, 0);
        std::vector<std::string> cells = std::exchange(fields_, {});
        if (std::all_of(cells.begin(), cells.end(), [](const auto& cell) { return cell.empty(); }))
            return;  // ",,,": how spreadsheets write blank lines
        if (sheet_.header_line == 0) {
            sheet_.header_line = line;
            sheet_.header = std::move(cells);
            return;
        }
        count_ += cells.size();
        if (count_ > kSheetCells) {
            row_line_ = line;
            return stop(fmt::format("more than {} cells", kSheetCells),
                        "this cannot be the sheet that was meant");
        }
        sheet_.rows.push_back({line, std::move(cells)});
    }

    void stray_quote() {
        stop("a quotation mark stands in the middle of a field",
             "put the whole field between quotation marks and write the one inside twice");
    }

    void stop(std::string what, std::string fix) {
        if (sheet_.broken) return;
        sheet_.broken = true;
        problems_.push_back({.file = sheet_.file,
                             .line = row_line_,
                             .column = fields_.size() + 1,
                             .what = std::move(what),
                             .fix = std::move(fix)});
    }

    Sheet& sheet_;
    std::vector<Problem>& problems_;
    csv_parser csv_{};
    std::size_t line_ = 1, row_line_ = 0, count_ = 0;
    std::vector<std::string> fields_;
};

Problem file_problem(const Sheet& sheet, std::size_t line, std::string what, std::string fix) {
    return {.file = sheet.file, .line = line, .what = std::move(what), .fix = std::move(fix)};
}

/// Bytes that no table of text has. True when there is nothing to parse.
bool foreign_bytes(std::string_view bytes, Sheet& sheet, std::vector<Problem>& problems) {
    const auto refuse = [&](std::size_t line, const char* what) {
        sheet.broken = true;
        problems.push_back(file_problem(sheet, line, what, kSaveAsUtf8));
        return true;
    };
    if (bytes.starts_with("PK\x03\x04") || bytes.starts_with("\xD0\xCF\x11\xE0"))
        return refuse(0, "this is a spreadsheet program's own file, not text");
    const bool utf16 = bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF") ||
                       (bytes.size() >= 2 && (bytes[0] == '\0') != (bytes[1] == '\0'));
    if (utf16) return refuse(0, "this is UTF-16 text, sheets are read as UTF-8");
    const std::size_t nul = bytes.find('\0');
    if (nul == std::string_view::npos) return false;
    return refuse(
        static_cast<std::size_t>(std::count(bytes.begin(), bytes.begin() + nul, '\n')) + 1,
        "a NUL byte: the file is damaged or not text");
}

/// The separator of the header line: the one that stands there most often outside quotes.
char find_delimiter(std::string_view bytes) {
    constexpr std::array kDelimiters{',', ';', '\t'};
    std::array<std::size_t, 3> counts{};
    bool quoted = false;
    const std::size_t begin = std::min(bytes.find_first_not_of("\r\n"), bytes.size());
    for (const char c : bytes.substr(begin)) {
        if (c == '"') quoted = !quoted;
        if (quoted) continue;
        if (c == '\n' || c == '\r') break;
        for (std::size_t i = 0; i < counts.size(); ++i)
            if (c == kDelimiters[i]) ++counts[i];
    }
    return kDelimiters[static_cast<std::size_t>(std::max_element(counts.begin(), counts.end()) -
                                                counts.begin())];
}

/// Spreadsheets may say the separator in a first line "sep=;". Takes that line off.
std::optional<char> take_separator_line(std::string_view& bytes) {
    if (bytes.size() < 6 || to_lower_ascii(bytes.substr(0, 4)) != "sep=") return {};
    const char delimiter = bytes[4];
    if (bytes[5] != '\n' && bytes[5] != '\r') return {};
    if (delimiter != ',' && delimiter != ';' && delimiter != '\t') return {};
    bytes.remove_prefix(bytes.substr(5).starts_with("\r\n") ? 7 : 6);
    return delimiter;
}

/// Unnamed columns at the end are dropped when they hold nothing; rows get the header's width.
void square_up(Sheet& sheet, std::vector<Problem>& problems) {
    while (!sheet.header.empty() && sheet.header.back().empty()) sheet.header.pop_back();
    for (SheetRow& row : sheet.rows) {
        while (row.cells.size() > sheet.header.size() && row.cells.back().empty())
            row.cells.pop_back();
        if (row.cells.size() > sheet.header.size()) {
            const std::size_t column = sheet.header.size();
            problems.push_back(
                {.file = sheet.file,
                 .line = row.line,
                 .column = column + 1,
                 .value = row.cells[column],
                 .what = "a value under no column name",
                 .fix = "name the column in the header, or put a field that holds the separator "
                        "between quotation marks",
                 .of_row = true});
        }
        row.cells.resize(sheet.header.size());
    }
    for (std::size_t c = 0; c < sheet.header.size(); ++c) {
        if (!sheet.header[c].empty()) continue;
        for (const SheetRow& row : sheet.rows)
            if (!row.cells[c].empty()) {
                problems.push_back(sheet_problem(sheet, row, c, "a value under no column name",
                                                 "name the column in the header"));
                problems.back().of_row = false;
                break;
            }
    }
}

void check_header(const Sheet& sheet, std::vector<Problem>& problems) {
    std::unordered_map<std::string, std::size_t> seen;
    for (std::size_t c = 0; c < sheet.header.size(); ++c) {
        if (sheet.header[c].empty()) continue;
        const auto [first, fresh] = seen.emplace(sheet.header[c], c);
        if (!fresh)
            problems.push_back(
                {.file = sheet.file,
                 .line = sheet.header_line,
                 .column = c + 1,
                 .value = sheet.header[c],
                 .what = fmt::format("column {} already has this name", first->second + 1),
                 .fix = "give every column its own name"});
    }
}

/// A sheet in another encoding has such cells everywhere: the first is shown, the rest counted.
/// They are emptied, so that all later text is valid.
void check_encoding(Sheet& sheet, std::vector<Problem>& problems) {
    std::int64_t count = 0;
    Problem first;
    const auto check = [&](std::size_t line, std::size_t column, std::string& cell) {
        if (is_utf8(cell)) return;
        if (count++ == 0)
            first = {.file = sheet.file, .line = line, .column = column + 1, .value = cell};
        cell.clear();
    };
    for (std::size_t c = 0; c < sheet.header.size(); ++c)
        check(sheet.header_line, c, sheet.header[c]);
    for (SheetRow& row : sheet.rows)
        for (std::size_t c = 0; c < row.cells.size(); ++c) check(row.line, c, row.cells[c]);
    if (count == 0) return;
    sheet.broken = true;
    first.what = fmt::format("bytes that are not UTF-8 text ({})", counted(count, "cell"));
    first.fix = kSaveAsUtf8;
    problems.push_back(std::move(first));
}

}  // namespace

std::optional<std::size_t> Sheet::column(std::string_view name) const {
    const auto found = std::find(header.begin(), header.end(), name);
    if (found == header.end()) return {};
    return static_cast<std::size_t>(found - header.begin());
}

Sheet parse_sheet(std::string_view bytes, const std::string& shown_as,
                  std::vector<Problem>& problems) {
    Sheet sheet;
    sheet.file = shown_as;
    if (foreign_bytes(bytes, sheet, problems)) return sheet;
    if (bytes.starts_with("\xEF\xBB\xBF")) bytes.remove_prefix(3);
    const auto said = take_separator_line(bytes);
    sheet.delimiter = said ? *said : find_delimiter(bytes);
    Parser(sheet, problems).parse(bytes, said ? 2 : 1);
    if (sheet.header_line == 0) {
        if (!sheet.broken)
            problems.push_back(
                file_problem(sheet, 1, "the sheet is empty", "its first line names the columns"));
        sheet.broken = true;
        return sheet;
    }
    check_encoding(sheet, problems);
    square_up(sheet, problems);
    check_header(sheet, problems);
    find_decimal_mark(sheet);
    return sheet;
}

Sheet read_sheet(const std::filesystem::path& path, const std::string& shown_as,
                 std::vector<Problem>& problems) {
    try {
        if (std::filesystem::is_directory(path))
            throw InputError({Problem{.what = "this is a folder", .fix = "name a file"}});
        return parse_sheet(read_whole_file(path, kSheetBytes), shown_as, problems);
    } catch (const InputError& error) {
        Sheet sheet;
        sheet.file = shown_as;
        sheet.broken = true;
        for (Problem problem : error.problems()) {
            problem.file = shown_as;
            problems.push_back(std::move(problem));
        }
        return sheet;
    }
}

Problem sheet_problem(const Sheet& sheet, const SheetRow& row, std::size_t column, std::string what,
                      std::string fix) {
    return {.file = sheet.file,
            .line = row.line,
            .column = column + 1,
            .field = column < sheet.header.size() ? sheet.header[column] : std::string(),
            .value = column < row.cells.size() ? row.cells[column] : std::string(),
            .what = std::move(what),
            .fix = std::move(fix),
            .of_row = true};
}

}  // namespace hearwood

#include "base/sheet.h"

#include <catch2/catch.hpp>

#include "base/csv_cell.h"
#include "base/text.h"
#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;
using Cells = std::vector<std::string>;

namespace {

struct Parsed {
    Sheet sheet;
    Lines problems;
};

Parsed parse(std::string_view bytes) {
    std::vector<Problem> problems;
    Parsed parsed{parse_sheet(bytes, "s.csv", problems), {}};
    for (const Problem& problem : problems) parsed.problems.push_back(one_line(problem));
    return parsed;
}

/// All rows, the header first.
std::vector<Cells> table(std::string_view bytes) {
    const Parsed parsed = parse(bytes);
    CHECK(parsed.problems == Lines{});
    std::vector<Cells> rows{parsed.sheet.header};
    for (const SheetRow& row : parsed.sheet.rows) rows.push_back(row.cells);
    return rows;
}

const std::vector<Cells> kPlain{{"site", "x"}, {"A", "1"}, {"B", "2"}};

constexpr const char* kUtf8Fix =
    "in the spreadsheet choose save as, comma-separated text (CSV), character set UTF-8";

SheetNumber::State state(const Parsed& parsed, std::string_view cell) {
    return sheet_number(parsed.sheet, cell).state;
}

}  // namespace

TEST_CASE("line ends, byte-order mark, blank lines and separators do not matter") {
    CHECK(table("site,x\nA,1\nB,2\n") == kPlain);
    CHECK(table("site,x\nA,1\nB,2") == kPlain);
    CHECK(table("\xEF\xBB\xBFsite,x\r\nA,1\r\nB,2\r\n") == kPlain);
    CHECK(table("site,x\rA,1\rB,2\r") == kPlain);
    CHECK(table("\n\nsite,x\n\nA,1\n\r\n,\nB,2\n\n\n") == kPlain);
    CHECK(table("site;x\nA;1\nB;2\n") == kPlain);
    CHECK(table("site\tx\nA\t1\nB\t2\n") == kPlain);
    CHECK(table("sep=;\r\nsite;x\r\nA;1\r\nB;2\r\n") == kPlain);
    CHECK(table(" site , x \n A , 1\nB,2 \n") == kPlain);
}

TEST_CASE("empty columns at the end and short rows are squared up") {
    CHECK(table("site,x,,\nA,1,,\nB,2\n") == kPlain);
    CHECK(table("site,x\nA,1,,,\nB\n") == std::vector<Cells>{{"site", "x"}, {"A", "1"}, {"B", ""}});
}

TEST_CASE("quoted fields may hold separators, quotes and line breaks") {
    CHECK(table("\"site\",x\n\"A, \"\"old\"\"\",1\n\"B\nB\",2\n") ==
          std::vector<Cells>{{"site", "x"}, {"A, \"old\"", "1"}, {"B\nB", "2"}});
    CHECK(table("site;x\n\"a;b\";\"0,5\"\n") == std::vector<Cells>{{"site", "x"}, {"a;b", "0,5"}});
    CHECK(table("\"a,b,c\";x\n1;2\n") == std::vector<Cells>{{"a,b,c", "x"}, {"1", "2"}});
}

TEST_CASE("the apostrophe that guards a text from being run as a formula comes off") {
    CHECK(table("a,b\n'+08:00,'=x\n''t,'t\n',x\n") ==
          std::vector<Cells>{{"a", "b"}, {"+08:00", "=x"}, {"'t", "'t"}, {"'", "x"}});
    // Whatever the program itself wrote, less the spaces that every cell loses.
    for (const std::string text : {"=1", "+1", "-1", "@x", "'x", "\tx", "\rx", "x"}) {
        std::string row = "a,b\n";
        append_csv_text(row, text);
        CHECK(table(row + ",1\n")[1] == Cells{trim(text), "1"});
    }
}

TEST_CASE("rows know the line they begin in") {
    const Parsed parsed = parse("\nsite,x\r\n\r\n\"A\r\nA\",1\r\nB,2\r\n");
    CHECK(parsed.sheet.header_line == 2);
    REQUIRE(parsed.sheet.rows.size() == 2);
    CHECK(parsed.sheet.rows[0].line == 4);
    CHECK(parsed.sheet.rows[1].line == 6);
    CHECK(parse("a,b\r1,2\r3,4\r").sheet.rows[1].line == 3);
    CHECK(parse("sep=,\na,b\n1,2\n").sheet.rows[0].line == 3);
}

TEST_CASE("what cannot be understood is refused with its place") {
    CHECK(parse("a,b\n1,x\"y\"\n").problems ==
          Lines{"s.csv:2:2: a quotation mark stands in the middle of a field; put the whole field "
                "between quotation marks and write the one inside twice"});
    CHECK(parse("a,b\n1,2\n3,\"four\n5,6\n").problems ==
          Lines{"s.csv:3:2: a quoted field begins in this row and never ends; close it with a "
                "quotation mark"});
    CHECK(
        parse("a,b\n1,2,3\n").problems ==
        Lines{"s.csv:2:3 '3': a value under no column name; name the column in the header, or put "
              "a field that holds the separator between quotation marks"});
    CHECK(parse("a,,b\n1,2,3\n").problems ==
          Lines{"s.csv:2:2 '2': a value under no column name; name the column in the header"});
    CHECK(parse("a,b,a\n1,2,3\n").problems ==
          Lines{"s.csv:1:3 'a': column 1 already has this name; give every column its own name"});
    CHECK(parse("").problems ==
          Lines{"s.csv:1: the sheet is empty; its first line names the columns"});
    CHECK(parse("\n,,\n").problems == parse("").problems);
}

TEST_CASE("other encodings are refused with the way to save as UTF-8") {
    using namespace std::string_view_literals;
    const auto line = [](const std::string& what) {
        return Lines{"s.csv" + what + "; " + kUtf8Fix};
    };
    const Lines utf16 = line(": this is UTF-16 text, sheets are read as UTF-8");
    CHECK(parse("\xFF\xFE"
                "a\0,\0b\0"sv)
              .problems == utf16);
    CHECK(parse("\xFE\xFF\0a\0,\0b"sv).problems == utf16);
    CHECK(parse("a\0,\0b\0\n\0"sv).problems == utf16);
    CHECK(parse("a,b\n1,\0\n"sv).problems ==
          line(":2: a NUL byte: the file is damaged or not text"));
    CHECK(parse("a,b\n1,m\xFChle\nb\xE4r,2\n").problems ==
          line(":2:2 'm\\xFChle': bytes that are not UTF-8 text (2 cells)"));
    CHECK(parse("PK\x03\x04rest").problems ==
          line(": this is a spreadsheet program's own file, not text"));
}

TEST_CASE("sheets that no person wrote are refused cleanly") {
    CHECK(parse(std::string(100'000, ',') + "\n").problems ==
          Lines{"s.csv:1:4097: more than 4096 columns; this cannot be the sheet that was meant"});
    CHECK(parse("a,b\n1,\"" + std::string(70'000, 'x') + "\"\n").problems ==
          Lines{"s.csv:2:2: a field is longer than 65536 bytes; a quotation mark that never closes "
                "is the usual cause; correct the line and save again"});
    const TemporaryFolder folder;
    folder.file("big.csv", "a,b\n");
    std::filesystem::resize_file(folder.path() / "big.csv", 4ull << 30);  // sparse
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(folder.path() / "big.csv", "big.csv", problems);
    CHECK(sheet.broken);
    REQUIRE(problems.size() == 1);
    CHECK(one_line(problems[0]) ==
          "big.csv: larger than 268435456 bytes; this cannot be the file that was meant");
}

TEST_CASE("a sheet that is not there or is a folder is a problem, not a failure") {
    const TemporaryFolder folder;
    std::vector<Problem> problems;
    CHECK(read_sheet(folder.path() / "none.csv", "none.csv", problems).broken);
    CHECK(read_sheet(folder.path(), "sites.csv", problems).broken);
    REQUIRE(problems.size() == 2);
    CHECK(problems[0].file == "none.csv");
    CHECK(one_line(problems[1]) == "sites.csv: this is a folder; name a file");
}

TEST_CASE("cut at every length a sheet gives rows or problems, never more") {
    const std::string whole = "\xEF\xBB\xBFsite;x;\"n\"\r\n\"A\r\nA\";0,5;\"q\"\"q\"\r\nB;1,5;\r\n";
    for (std::size_t length = 0; length <= whole.size(); ++length) {
        const Parsed parsed = parse(std::string_view(whole).substr(0, length));
        INFO("length " << length);
        CHECK(parsed.sheet.rows.size() <= 2);
        CHECK((!parsed.sheet.header.empty() || !parsed.problems.empty()));
        for (const SheetRow& row : parsed.sheet.rows)
            CHECK(row.cells.size() == parsed.sheet.header.size());
    }
}

TEST_CASE("decimal commas are understood where the separator leaves no doubt") {
    using State = SheetNumber::State;
    const Parsed semicolons = parse("a;b\n0,5;-1,25\n1,234;7\n");
    CHECK(sheet_number(semicolons.sheet, "0,5").value == 0.5);
    CHECK(sheet_number(semicolons.sheet, "-1,25").value == -1.25);
    CHECK(sheet_number(semicolons.sheet, "1,234").value == 1.234);
    CHECK(sheet_number(semicolons.sheet, "7").value == 7);
    CHECK(state(semicolons, "1.234") == State::ambiguous);
    CHECK(state(semicolons, "1.234,5") == State::ambiguous);
    CHECK(sheet_number(semicolons.sheet, "1.2345").value == 1.2345);

    const Parsed points = parse("a;b\n0.5;x\n");
    CHECK(sheet_number(points.sheet, "110.345").value == 110.345);
    CHECK(state(points, "1,234") == State::ambiguous);

    const Parsed doubtful = parse("a;b\n1,234;1.234\n");
    CHECK(state(doubtful, "1,234") == State::ambiguous);
    CHECK(state(doubtful, "1.234") == State::ambiguous);

    const Parsed commas = parse("a,b\n0.5,1.234\n");
    CHECK(sheet_number(commas.sheet, "1.234").value == 1.234);
    CHECK(state(commas, "1,234") == State::ambiguous);
    CHECK(state(commas, "0,5") == State::ambiguous);
}

TEST_CASE("what is a number and what is not") {
    using State = SheetNumber::State;
    const Parsed parsed = parse("a,b\n1,2\n");
    CHECK(sheet_number(parsed.sheet, " \u22121.5 ").value == -1.5);
    CHECK(sheet_number(parsed.sheet, "2e3").value == 2000);
    CHECK(state(parsed, "") == State::empty);
    CHECK(state(parsed, "NA") == State::empty);
    for (const char* text :
         {"12 m", "nan", "inf", "1e999", "1\u00B033'N", "x", "1,2,x", "--1", "0x10"}) {
        INFO(text);
        CHECK(state(parsed, text) == State::not_a_number);
    }
}

TEST_CASE("a cell that is no number is told with line, column and name") {
    const Parsed parsed = parse("site,depth\nA,12 cm\nB,\"1,5\"\n");
    std::vector<Problem> problems;
    for (const SheetRow& row : parsed.sheet.rows)
        CHECK(!number_or_problem(parsed.sheet, row, 1, problems));
    REQUIRE(problems.size() == 2);
    CHECK(
        one_line(problems[0]) ==
        "s.csv:2:2 (depth) '12 cm': not a number; write the number alone, without a unit; leave it "
        "empty when unknown");
    CHECK(
        one_line(problems[1]) ==
        "s.csv:3:2 (depth) '1,5': this may be a decimal mark or a thousands mark; write a decimal "
        "point, no thousands mark, and the same in the whole sheet");
}

#include "contrast/timed_sheet.h"

#include <catch2/catch.hpp>
#include <filesystem>

#include "base/file.h"
#include "base/missing.h"
#include "temporary_folder.h"

using namespace hearwood;

namespace {

SheetAnswer answer(const std::string& text) {
    const testing::TemporaryFolder folder;
    const std::filesystem::path path = folder.path() / "values.csv";
    write_whole_file(path, text);
    return answer_of(read_sheet_values(path));
}

double value_of(const std::vector<SiteValue>& values, const std::string& site) {
    for (const SiteValue& value : values)
        if (value.unit.site == site) return value.unit.value;
    return -1e9;
}

}  // namespace

TEST_CASE("lines of sites, dates and cells become values of sites") {
    // b lacks the loud cell on the second date: its plain mean is 8 / 3, a's is 4.
    const SheetAnswer sheet = answer(
        "site,class,index,window,date,cell,value\n"
        "a,rich,x,all,2031-05-04,1,1\na,rich,x,all,2031-05-04,2,6\n"
        "a,rich,x,all,2031-05-05,1,2\na,rich,x,all,2031-05-05,2,7\n"
        "b,poor,x,all,2031-05-04,1,0\nb,poor,x,all,2031-05-04,2,5\n"
        "b,poor,x,all,2031-05-05,1,1\nb,poor,x,all,2031-05-05,2,\n"
        "c,poor,x,all,2031-09-01,1,9\n");
    REQUIRE(sheet.values.size() == 3);
    CHECK(value_of(sheet.values, "a") == Approx(4));
    CHECK(value_of(sheet.values, "b") == Approx(3));
    CHECK(is_missing(value_of(sheet.values, "c")));
    REQUIRE(sheet.timed.size() == 3);
    CHECK(sheet.timed[1].site.cells == 3);
    CHECK(sheet.timed[1].site.leans > 1);
    CHECK_FALSE(sheet.timed[2].site.reason.empty());
    CHECK(csv_of(site_values_table(), sheet.timed)
              .starts_with("site,index,window,value,cells,leans,reason\na,x,all,4,4,"));
    CHECK(sheet.seasons.empty());
}

TEST_CASE("a date beside a single value of a site is left alone") {
    const SheetAnswer sheet = answer(
        "site,class,index,window,value,date\n"
        "a,rich,x,all,1,2031-05-04\nb,poor,x,all,2,2031-05-05\n");
    CHECK(sheet.timed.empty());
    CHECK(value_of(sheet.values, "a") == 1);
    CHECK(value_of(sheet.values, "b") == 2);
}

TEST_CASE("seasons have values of their own, and one over both") {
    const SheetAnswer sheet = answer(
        "site,class,index,window,value,season\n"
        "a,rich,x,all,1,dry\nb,poor,x,all,2,dry\na,rich,x,all,11,wet\n");
    CHECK(sheet.seasons == std::vector<std::string>{"dry", "wet"});
    REQUIRE(sheet.by_season.size() == 3);
    CHECK(sheet.by_season[2].season == "wet");
    CHECK(sheet.by_season[2].value.unit.value == 11);
    CHECK(value_of(sheet.values, "a") == Approx(6));
    CHECK(value_of(sheet.values, "b") == Approx(7));  // 1 above a in the season they share
    CHECK(sheet.timed.empty());
    const SheetAnswer dated = answer(
        "site,class,index,window,value,season,date,cell\n"
        "a,rich,x,all,1,wet,2031-01-04,1\na,rich,x,all,3,wet,2031-01-05,1\n"
        "a,rich,x,all,9,dry,2031-07-04,1\n");
    CHECK(dated.seasons == std::vector<std::string>{"wet", "dry"});
    CHECK(dated.by_season[0].value.unit.value == 2);
}

TEST_CASE("a line that stands twice is refused") {
    CHECK_THROWS_AS(answer("site,class,index,window,date,cell,value\n"
                           "a,rich,x,all,2031-05-04,1,1\na,rich,x,all,2031-05-04,1,6\n"),
                    InputError);
}

TEST_CASE("one of date and cell alone makes the model with what is there") {
    // Three dates; b lacks the loud one.
    const SheetAnswer sheet = answer(
        "site,class,index,window,date,value\n"
        "a,rich,x,all,2031-05-04,1\na,rich,x,all,2031-05-05,2\na,rich,x,all,2031-05-06,9\n"
        "b,poor,x,all,2031-05-04,3\nb,poor,x,all,2031-05-05,4\n");
    CHECK(value_of(sheet.values, "a") == Approx(4));
    CHECK(value_of(sheet.values, "b") == Approx(6));
    const SheetAnswer cells = answer(
        "site,class,index,window,cell,value\n"
        "a,rich,x,all,dawn,1\na,rich,x,all,dusk,3\nb,poor,x,all,dawn,2\n");
    CHECK(value_of(cells.values, "b") == Approx(3));
    // One line a site, all of one date: nothing can be lost, so the model's table is there too.
    const SheetAnswer same = answer(
        "site,class,index,window,date,value\n"
        "a,rich,x,all,2031-05-04,1\nb,poor,x,all,2031-05-04,2\n");
    REQUIRE(same.timed.size() == 2);
    CHECK(same.timed[1].site.value == 2);
    CHECK(same.timed[1].site.leans == 1);
}

TEST_CASE("a line without its date in a sheet of dates is refused") {
    CHECK_THROWS_AS(answer("site,class,index,window,date,value\n"
                           "a,rich,x,all,2031-05-04,1\na,rich,x,all,,6\n"),
                    InputError);
    CHECK(answer("site,class,index,window,date,cell,value\na,rich,x,all,,1,1\n").values.size() ==
          1);
}

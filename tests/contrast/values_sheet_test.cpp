// `contrast --values` as its users meet it: through the program, in a folder of its own.
#include "contrast/values_sheet.h"

#include <sys/wait.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "temporary_folder.h"

using namespace hearwood;

namespace {

class Folder : public testing::TemporaryFolder {
  public:
    std::string read(const std::string& name) const {
        std::ifstream file(path() / name, std::ios::binary);
        std::ostringstream text;
        text << file.rdbuf();
        return text.str();
    }
    /// Runs the program here; its exit code.
    int run(const std::string& words) const {
        const std::string call = "cd '" + path().string() + "' && '" HEARWOOD_BINARY "' " + words +
                                 " >stdout 2>stderr </dev/null";
        const int status = std::system(call.c_str());
        return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    }
};

const char* const kGood =
    "site,class,index,window,value\n"
    "a,rich,litter,all,5\nb,rich,litter,all,6\nc,rich,litter,all,7\nd,rich,litter,all,8\n"
    "e,poor,litter,all,1\nf,poor,litter,all,2\ng,poor,litter,all,3\nh,poor,litter,all,4\n";

bool tells(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("a values file becomes a table, a file and a verdict") {
    const Folder folder;
    folder.file("litter.csv", kGood);
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --out out.csv") == 0);
    CHECK(folder.read("stderr").empty());
    CHECK(tells(folder.read("out.csv"), "\nlitter,all,rich,poor,4,4,6.5,2.5,4,"));
    const std::string shown = folder.read("stdout");
    CHECK(tells(shown, "litter, all: higher at rich than at poor sites by 4.00"));
    CHECK(tells(shown.substr(shown.rfind("\n\n")), "out.csv"));
}

TEST_CASE("the same file gives the same bytes whatever the order of its rows") {
    const Folder folder;
    folder.file("a.csv", kGood);
    folder.file("b.csv",
                "value,site,class,index,window,note\n4,h,poor,litter,all,\n3,g,poor,litter,all,x\n"
                "2,f,poor,litter,all,\n8,d,rich,litter,all,\n1,e,poor,litter,all,\n"
                "5,a,rich,litter,all,\n7,c,rich,litter,all,\n6,b,rich,litter,all,\n");
    CHECK(folder.run("contrast --values a.csv --compare rich,poor --out 1.csv") == 0);
    CHECK(folder.run("contrast --values b.csv --compare rich,poor --out 2.csv") == 0);
    CHECK(folder.read("1.csv") == folder.read("2.csv"));
}

TEST_CASE("two classes without --compare are taken in alphabetical order, and that is said") {
    const Folder folder;
    folder.file("litter.csv", kGood);
    CHECK(folder.run("contrast --values litter.csv --out out.csv") == 0);
    CHECK(tells(folder.read("stdout"), "poor minus rich, in alphabetical order"));
    CHECK(tells(folder.read("out.csv"), "\nlitter,all,poor,rich,4,4,2.5,6.5,-4,"));
}

TEST_CASE("all problems of a values file are shown at once, each with its place and fix") {
    const Folder folder;
    folder.file("bad.csv",
                "site,class,index,window,value\n"
                "a,rich,litter,all,many\n"
                ",rich,litter,all,1\n"
                "b,rich,litter,all,2\n"
                "b,rich,litter,all,3\n"
                "b,poor,ants,all,3\n");
    CHECK(folder.run("contrast --values bad.csv --compare rich,poor --out out.csv") == 2);
    const std::string told = folder.read("stderr");
    CHECK(tells(told, "bad.csv:2:5 (value) 'many'"));
    CHECK(tells(told, "bad.csv:3:1 (site)"));
    CHECK(tells(
        told, "bad.csv:5:1 (site) 'b': this site has a value of litter in all already, on line 4"));
    CHECK(tells(told, "bad.csv:6:2 (class) 'poor': this site is of class 'rich' on line 4"));
    CHECK_FALSE(std::filesystem::exists(folder.path() / "out.csv"));
}

TEST_CASE("a missing column names its nearest spelling") {
    const Folder folder;
    folder.file("bad.csv", "site,class,index,windows,value\na,rich,x,all,1\n");
    CHECK(folder.run("contrast --values bad.csv") == 2);
    CHECK(tells(folder.read("stderr"), "rename the column 'windows' to 'window'"));
}

TEST_CASE("blocks are all or none") {
    const Folder folder;
    folder.file("bad.csv",
                "site,class,index,window,value,block\na,rich,x,all,1,u\nb,poor,x,all,1,\n");
    CHECK(folder.run("contrast --values bad.csv") == 2);
    CHECK(tells(folder.read("stderr"), "give every site a block, or leave the whole column empty"));
}

TEST_CASE("calls that cannot be meant are refused with a fix") {
    const Folder folder;
    folder.file("litter.csv", kGood);
    CHECK(folder.run("contrast --values litter.csv --compare rihc,poor") == 2);
    CHECK(tells(folder.read("stderr"), "did you mean 'rich'?"));
    CHECK(folder.run("contrast --values litter.csv --compare rich") == 2);
    CHECK(folder.run("contrast --values litter.csv --compare rich,rich") == 2);
    CHECK(folder.run("contrast --values litter.csv --primary litter,dawn") == 2);
    CHECK(folder.run("contrast --values litter.csv --level 95") == 2);
    CHECK(folder.run("contrast --values nowhere.csv") == 2);
    CHECK(folder.run("contrast --values litter.csv --level 1") == 2);
    CHECK(folder.run("contrast --values litter.csv --level 1e-15") == 0);
    CHECK(folder.run("contrast --values litter.csv --level 0.999999") == 0);
    folder.file("huge.csv", std::string(kGood) + "i,rich,litter,all,1e300\n");
    CHECK(folder.run("contrast --values huge.csv") == 2);
    CHECK(tells(folder.read("stderr"), "huge.csv:10:5 (value) '1e300'"));
    CHECK(folder.run("contrast") == 2);
}

TEST_CASE("three classes need --compare, and then all pairs and F are written beside the rows") {
    const Folder folder;
    folder.file("three.csv",
                std::string(kGood) + "i,middle,litter,all,4.5\nj,middle,litter,all,5.5\n");
    CHECK(folder.run("contrast --values three.csv") == 2);
    CHECK(tells(folder.read("stderr"), "--compare A,B"));
    CHECK(folder.run("contrast --values three.csv --compare rich,poor --out out.csv") == 0);
    CHECK(tells(folder.read("out.pairs.csv"), "\nlitter,all,rich,middle,4,2,"));
    CHECK(tells(folder.read("out.classes.csv"), "\nlitter,all,rich;poor;middle,,10,"));
    CHECK_FALSE(tells(folder.read("out.csv"), "middle"));
}

TEST_CASE("an output that cannot be written is a failure of the machine") {
    const Folder folder;
    folder.file("litter.csv", kGood);
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --out no/such/out.csv") ==
          3);
    CHECK_FALSE(folder.read("stderr").empty());
}

namespace {

/// Four rich and five poor sites with columns to adjust for: depth varies, soil is words, one is
/// the same everywhere, two has two values.
std::string with_columns() {
    std::string sheet = "site,class,index,window,value,depth,soil,one,two\n";
    for (int i = 0; i < 9; ++i)
        sheet += std::string(1, static_cast<char>('a' + i)) + (i < 4 ? ",rich" : ",poor") +
                 ",litter,all," + std::to_string(i * i % 7) + "," + std::to_string(i * 5 % 11) +
                 (i == 3 ? ",clay" : ",3") + ",7," + std::to_string(i % 2) + "\n";
    return sheet;
}

}  // namespace

TEST_CASE("columns that cannot be used are told in one line each, and the rest still runs") {
    const Folder folder;
    folder.file("litter.csv", with_columns());
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --adjust soil --adjust one "
                     "--gradient two --out out.csv") == 0);
    const std::string complaints = folder.read("stderr");
    CHECK(std::count(complaints.begin(), complaints.end(), '\n') == 2);
    CHECK(tells(complaints, "litter.csv:5:7 (soil) 'clay'"));
    CHECK(tells(complaints, "(one): all sites have the same number"));
    CHECK(tells(complaints, "the contrast is not adjusted for it"));
    CHECK(tells(folder.read("stdout"), "not tested, a gradient needs at least 4 sites with 3"));
    CHECK(tells(folder.read("out.csv"), "\nlitter,all,rich,poor,4,5,"));
    CHECK(folder.read("out.adjusted.csv").empty());
    CHECK(folder.read("out.gradient.csv") ==
          "index,window,slope,ci_low,ci_high,p,slope_given_class,p_given_class,p_adjusted\n"
          "litter,all,,,,,,,\n");
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --adjust dept") == 2);
    CHECK(tells(folder.read("stderr"), "did you mean 'depth'?"));
}

TEST_CASE("adjusted for one column beside another that cannot be used") {
    const Folder folder;
    folder.file("litter.csv", with_columns());
    CHECK(
        folder.run("contrast --values litter.csv --compare rich,poor --adjust soil --adjust depth "
                   "--out out.csv") == 0);
    CHECK(tells(folder.read("stdout"), "litter, all, adjusted for depth: rich minus poor is"));
    CHECK(tells(folder.read("stdout"), "approximate"));
    CHECK(folder.read("out.adjusted.csv")
              .rfind("index,window,difference,ci_low,ci_high,p,reason\nlitter,all,", 0) == 0);
}

TEST_CASE("profiles need no values; a cell that is missing everywhere is counted and left out") {
    const Folder folder;
    std::string sheet = "site,class,hour,low_hz,high_hz,value\n";
    for (int i = 0; i < 8; ++i)
        for (int hour = 4; hour < 7; ++hour)
            sheet += std::string(1, static_cast<char>('a' + i)) + (i < 4 ? ",rich," : ",poor,") +
                     std::to_string(hour) + ",0,250," +
                     (hour == 5 ? "NA" : std::to_string((i * 7 + hour) % 5 + (i < 4 ? 9 : 0))) +
                     "\n";
    folder.file("profiles.csv", sheet);
    CHECK(folder.run("contrast --profiles profiles.csv --compare rich,poor --out out.csv") == 0);
    CHECK(folder.read("stderr").empty());
    CHECK(tells(folder.read("stdout"), "1 cell was left out, missing at a site."));
    const std::string composition = folder.read("out.composition.csv");
    CHECK(composition.rfind("f,p,cells_left_out,dispersion_f,dispersion_p,share_1,share_2\n", 0) ==
          0);
    CHECK(tells(composition, ",1,"));
    CHECK(tells(folder.read("out.ordination.csv"), "\na,"));
    CHECK_FALSE(tells(folder.read("out.day_pitch.csv"), "\n5,0,250"));
    CHECK(tells(folder.read("out.day_pitch.csv"), "\n6,0,250"));
    CHECK(folder.read("out.csv").empty());
}

TEST_CASE("a site without any value of a profile takes no part, and is named") {
    const Folder folder;
    std::string sheet = "site,class,hour,low_hz,high_hz,value\nempty,rich,4,0,250,\n";
    for (int i = 0; i < 8; ++i)
        for (int hour = 4; hour < 7; ++hour)
            sheet += std::string(1, static_cast<char>('a' + i)) + (i < 4 ? ",rich," : ",poor,") +
                     std::to_string(hour) + ",0,250," + std::to_string((i * 7 + hour) % 5) + "\n";
    folder.file("profiles.csv", sheet);
    CHECK(folder.run("contrast --profiles profiles.csv --compare rich,poor --out out.csv") == 0);
    CHECK(tells(folder.read("stdout"), "Without empty, which has no values."));
    CHECK_FALSE(tells(folder.read("out.ordination.csv"), "empty"));
    CHECK(tells(folder.read("out.day_pitch.csv"), "\n5,0,250,"));
}

TEST_CASE("profiles that make no sense are refused line by line") {
    const Folder folder;
    folder.file("profiles.csv",
                "site,class,hour,low_hz,high_hz,value\na,rich,24,0,250,1\nb,rich,4,250,250,1\n"
                "c,poor,4,0,250,x\na,poor,5,0,250,1\na,rich,5,0,250,2\n");
    CHECK(folder.run("contrast --profiles profiles.csv --compare rich,poor") == 2);
    const std::string complaints = folder.read("stderr");
    CHECK(tells(complaints, "profiles.csv:2:3 (hour) '24': no hour of the day"));
    CHECK(tells(complaints, "profiles.csv:3:5 (high_hz) '250'"));
    CHECK(tells(complaints, "profiles.csv:4:6 (value) 'x'"));
    CHECK(tells(complaints, "profiles.csv:6:1 (site) 'a'"));
}

TEST_CASE("rows with dates and cells become site values by the additive model") {
    const Folder folder;
    // y = site + date + cell without rest; site d lacks the second date, whose +10 must not be
    // missed in its value: sites 1 to 8, dates 0 and 10, cells 0 and 4, so value = site + 5 + 2.
    std::string sheet = "site,class,index,window,value,date,cell\n";
    for (int site = 1; site <= 8; ++site)
        for (int date = 0; date < 2; ++date)
            for (int cell = 0; cell < 2; ++cell)
                if (site != 4 || date == 0)
                    sheet += std::string(1, static_cast<char>('a' + site - 1)) +
                             (site < 5 ? ",rich,litter,all," : ",poor,litter,all,") +
                             std::to_string(site + 10 * date + 4 * cell) + ",2031-05-0" +
                             std::to_string(date + 1) + ",0" + std::to_string(cell) + ":00\n";
    folder.file("litter.csv", sheet);
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --out out.csv") == 0);
    const std::string table = folder.read("out.site_values.csv");
    CHECK(table.rfind("site,index,window,value,cells,leans,reason\n", 0) == 0);
    const auto value_of = [&](const std::string& site) {
        const std::string start = "\n" + site + ",litter,all,";
        const std::size_t at = table.find(start);
        REQUIRE(at != std::string::npos);
        return std::stod(table.substr(at + start.size()));
    };
    CHECK(value_of("a") == Approx(8).epsilon(1e-12));
    CHECK(value_of("d") == Approx(11).epsilon(1e-12));
    CHECK(value_of("h") == Approx(15).epsilon(1e-12));
    CHECK(tells(folder.read("out.csv"), "\nlitter,all,rich,poor,4,4,"));
}

TEST_CASE("a season column adds the change of the difference") {
    const Folder folder;
    std::string sheet = "site,class,index,window,value,season\n";
    for (int site = 0; site < 8; ++site)
        for (int season = 0; season < 2; ++season)
            sheet += std::string(1, static_cast<char>('a' + site)) +
                     (site < 4 ? ",rich,litter,all," : ",poor,litter,all,") +
                     std::to_string(site * site % 5 + (site < 4 ? 3 * season : 0)) + ",203" +
                     std::to_string(season) + "\n";
    folder.file("litter.csv", sheet);
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --out out.csv") == 0);
    const std::string table = folder.read("out.seasons.csv");
    CHECK(tells(table, "\nlitter,all,2030,2031,4,4,"));
    CHECK(tells(table, ",3,"));
    CHECK(folder.read("out.site_values.csv").empty());
    CHECK(tells(folder.read("stdout"), "Seasons: "));
}

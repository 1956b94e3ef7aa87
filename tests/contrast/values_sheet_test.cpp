// `contrast --values` as its users meet it: through the program, in a folder of its own.
#include "contrast/values_sheet.h"

#include <sys/wait.h>

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

bool says(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("a values file becomes a table, a file and a verdict") {
    const Folder folder;
    folder.file("litter.csv", kGood);
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --out out.csv") == 0);
    CHECK(folder.read("stderr").empty());
    CHECK(says(folder.read("out.csv"), "\nlitter,all,rich,poor,4,4,6.5,2.5,4,"));
    const std::string shown = folder.read("stdout");
    CHECK(says(shown, "litter, all: higher at rich than at poor sites by 4.00"));
    CHECK(says(shown.substr(shown.rfind("\n\n")), "out.csv"));
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
    CHECK(says(folder.read("stdout"), "poor minus rich, in alphabetical order"));
    CHECK(says(folder.read("out.csv"), "\nlitter,all,poor,rich,4,4,2.5,6.5,-4,"));
}

TEST_CASE("all problems of a values file are shown at once, each with its place and mend") {
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
    CHECK(says(told, "bad.csv:2:5 (value) 'many'"));
    CHECK(says(told, "bad.csv:3:1 (site)"));
    CHECK(says(
        told, "bad.csv:5:1 (site) 'b': this site has a value of litter in all already, on line 4"));
    CHECK(says(told, "bad.csv:6:2 (class) 'poor': this site is of class 'rich' on line 4"));
    CHECK_FALSE(std::filesystem::exists(folder.path() / "out.csv"));
}

TEST_CASE("a missing column names its nearest spelling") {
    const Folder folder;
    folder.file("bad.csv", "site,class,index,windows,value\na,rich,x,all,1\n");
    CHECK(folder.run("contrast --values bad.csv") == 2);
    CHECK(says(folder.read("stderr"), "rename the column 'windows' to 'window'"));
}

TEST_CASE("blocks are all or none") {
    const Folder folder;
    folder.file("bad.csv",
                "site,class,index,window,value,block\na,rich,x,all,1,u\nb,poor,x,all,1,\n");
    CHECK(folder.run("contrast --values bad.csv") == 2);
    CHECK(says(folder.read("stderr"), "give every site a block, or leave the whole column empty"));
}

TEST_CASE("calls that cannot be meant are refused with a mend") {
    const Folder folder;
    folder.file("litter.csv", kGood);
    CHECK(folder.run("contrast --values litter.csv --compare rihc,poor") == 2);
    CHECK(says(folder.read("stderr"), "did you mean 'rich'?"));
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
    CHECK(says(folder.read("stderr"), "huge.csv:10:5 (value) '1e300'"));
    CHECK(folder.run("contrast") == 2);
}

TEST_CASE("three classes need --compare, and then all pairs and F are written beside the rows") {
    const Folder folder;
    folder.file("three.csv",
                std::string(kGood) + "i,middle,litter,all,4.5\nj,middle,litter,all,5.5\n");
    CHECK(folder.run("contrast --values three.csv") == 2);
    CHECK(says(folder.read("stderr"), "--compare A,B"));
    CHECK(folder.run("contrast --values three.csv --compare rich,poor --out out.csv") == 0);
    CHECK(says(folder.read("out.pairs.csv"), "\nlitter,all,rich,middle,4,2,"));
    CHECK(says(folder.read("out.classes.csv"), "\nlitter,all,rich;poor;middle,,10,"));
    CHECK_FALSE(says(folder.read("out.csv"), "middle"));
}

TEST_CASE("an output that cannot be written is a failure of the machine") {
    const Folder folder;
    folder.file("litter.csv", kGood);
    CHECK(folder.run("contrast --values litter.csv --compare rich,poor --out no/such/out.csv") ==
          3);
    CHECK_FALSE(folder.read("stderr").empty());
}

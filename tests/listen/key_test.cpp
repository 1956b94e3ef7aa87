// The key of a listening sheet, altered by hand.
#include "listen/key.h"

#include <catch2/catch.hpp>
#include <string>

#include "base/error.h"
#include "base/file.h"
#include "temporary_folder.h"

using namespace hearwood;
namespace fs = std::filesystem;

namespace {

struct KeyOnDisk {
    KeyOnDisk() {
        make_folder(folder / "hearwood");
        const KeyLine first{"5e", "a0", "", "recordings/D1/x.wav", 0, 3, "K1", "dawn", 1,
                            2.5,  60,   80};
        KeyLine again = first;
        again.clip = "b0";
        again.repeat_of = "a0";
        write_key(folder, std::vector<KeyLine>{first, again});
    }

    void change(const std::string& what, const std::string& with) const {
        std::string text = read_whole_file(listening_key(folder));
        const std::size_t at = text.find(what);
        REQUIRE(at != std::string::npos);
        write_whole_file(listening_key(folder), text.replace(at, what.size(), with));
    }
    testing::TemporaryFolder temporary;
    std::filesystem::path folder = temporary.path();
};

}  // namespace

TEST_CASE("a key comes back as it was written", "[listen]") {
    const KeyOnDisk key;
    const auto lines = read_key(key.folder);
    REQUIRE(lines.size() == 2);
    CHECK(lines[1].repeat_of == "a0");
    CHECK(lines[0].segment == 3);
    CHECK(lines[0].weight == 2.5);
    CHECK(lines[0].to_s == 80);
}

TEST_CASE("a key with what no sheet writes is refused with the place", "[listen]") {
    const auto [what, with, column] = GENERATE(table<std::string, std::string, std::size_t>({
        {"x.wav,0,3", "x.wav,1e300,3", 5},
        {"x.wav,0,3", "x.wav,-1,3", 5},
        {"x.wav,0,3", "x.wav,0,many", 6},
        {"dawn,1,", "dawn,7,", 9},
        {"2.5,60,80", "-2.5,60,80", 10},
        {"2.5,60,80", "2.5,60,1e300", 12},
        {"b0,a0", "b0,c0", 3},
        {"5e,a0,", "5e,../a0,", 2},
    }));
    CAPTURE(with);
    const KeyOnDisk key;
    key.change(what, with);
    try {
        read_key(key.folder);
        FAIL("it was taken");
    } catch (const InputError& error) {
        CHECK(error.problems()[0].line >= 2);
        CHECK(error.problems()[0].column == column);
        CHECK_FALSE(error.problems()[0].fix.empty());
    }
}

// PNG files are read back by an independent reader (read_png.py: zlib and struct, no PNG library)
// in the script test; here their frame is checked.
#include "picture/png.h"

#include <catch2/catch.hpp>
#include <cstdlib>

#include "base/file.h"
#include "picture/axes.h"
#include "temporary_folder.h"

using namespace hearwood;

namespace {

Image pattern(int width, int height, int colours) {
    std::vector<Colour> palette;
    for (int i = 0; i < colours; ++i)
        palette.push_back({static_cast<std::uint8_t>(i), static_cast<std::uint8_t>(255 - i),
                           static_cast<std::uint8_t>(i * 7 % 256)});
    Image image(width, height, palette);
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x)
            image.set(x, y, static_cast<std::uint8_t>((x * 31 + y * 17) % colours));
    return image;
}

/// The picture as bytes that the script makes from the PNG too: red, green, blue, pixel by pixel.
std::string raw(const Image& image) {
    std::string bytes;
    for (int y = 0; y < image.height; ++y)
        for (int x = 0; x < image.width; ++x) {
            const Colour c = image.at(x, y);
            bytes +=
                {static_cast<char>(c.red), static_cast<char>(c.green), static_cast<char>(c.blue)};
        }
    return bytes;
}

}  // namespace

TEST_CASE("a PNG begins with the signature and carries no time stamp or comment") {
    const std::string bytes = encode_png(pattern(33, 7, 20));
    CHECK(bytes.substr(0, 8) == "\x89PNG\r\n\x1a\n");
    CHECK(bytes.find("tIME") == std::string::npos);
    CHECK(bytes.find("tEXt") == std::string::npos);
    CHECK(bytes == encode_png(pattern(33, 7, 20)));
}

TEST_CASE("an independent reader sees the same pixels at every depth") {
    const testing::TemporaryFolder temporary;
    const std::filesystem::path& folder = temporary.path();
    for (const int colours : {2, 3, 4, 16, 17, 256})
        for (const int width : {1, 5, 8, 129}) {
            const Image image = pattern(width, 6, colours);
            write_whole_file(folder / "a.png", encode_png(image));
            const std::string command =
                "/usr/bin/python3 '" HEARWOOD_SOURCE_DIR "/tests/picture/read_png.py' " +
                (folder / "a.png").string() + " " + (folder / "a.raw").string();
            REQUIRE(std::system(command.c_str()) == 0);
            CHECK(read_whole_file(folder / "a.raw") == raw(image));
        }
}

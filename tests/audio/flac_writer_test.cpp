#include "audio/flac_writer.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <variant>
#include <vector>

#include "audio/audio_file.h"
#include "wave_bytes.h"

using namespace hearwood;
using namespace hearwood::test;

namespace {

std::vector<std::int32_t> codes_in(const std::filesystem::path& path, int bits) {
    auto opened = open_audio(path);
    AudioFile& file = std::get<AudioFile>(opened);
    CHECK(file.info().bits == bits);
    std::vector<std::int32_t> codes(file.info().frames);
    if (bits == 16) {
        std::vector<std::int16_t> narrow(codes.size());
        CHECK(file.read(0, narrow.data(), narrow.size()) == narrow.size());
        codes.assign(narrow.begin(), narrow.end());
    } else {
        CHECK(file.read(0, codes.data(), codes.size()) == codes.size());
        for (std::int32_t& code : codes) code /= 256;
    }
    return codes;
}

}  // namespace

TEST_CASE("every code of a recording comes back from FLAC as it was") {
    const TemporaryFolder folder;
    const int bits = GENERATE(16, 24);
    CAPTURE(bits);
    const auto top = std::int32_t{1} << (bits - 1);
    std::vector<std::int32_t> codes;
    for (std::int32_t code = -top; code < top; code += bits == 16 ? 1 : 997) codes.push_back(code);
    codes.push_back(top - 1);
    std::vector<float> samples;
    for (const std::int32_t code : codes)
        samples.push_back(static_cast<float>(code) / static_cast<float>(top));
    write_flac(folder.path() / "a.flac", samples, 24'000, bits);
    CHECK(codes_in(folder.path() / "a.flac", bits) == codes);
}

TEST_CASE("what is beyond full scale is held at the ends") {
    const TemporaryFolder folder;
    write_flac(folder.path() / "a.flac", std::vector<float>{1.0f, 1.3f, -1.0f, -1.3f, 0.0f}, 24'000,
               16);
    CHECK(codes_in(folder.path() / "a.flac", 16) ==
          std::vector<std::int32_t>{32767, 32767, -32768, -32768, 0});
}

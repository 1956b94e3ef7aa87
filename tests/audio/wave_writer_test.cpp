#include "audio/wave_writer.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <vector>

#include "audio/audio_file.h"
#include "wave_bytes.h"

using namespace hearwood;
using namespace hearwood::test;

namespace {

std::string bytes_of_file(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("a written file is the bytes that the format prescribes") {
    const TemporaryFolder folder;
    WaveWriter writer(folder.path() / "a.wav",
                      {.sample_rate = 44'100, .channels = 2, .metadata = {}});
    const std::vector<std::int16_t> samples = {1, 2, 3, 4};
    writer.write(samples);
    CHECK_FALSE(std::filesystem::exists(folder.path() / "a.wav"));
    writer.close();
    CHECK(bytes_of_file(folder.path() / "a.wav") ==
          wave({.channels = 2, .rate = 44'100}, counting(4)));
}

TEST_CASE("without close() nothing is left") {
    const TemporaryFolder folder;
    { WaveWriter writer(folder.path() / "a.wav", {}); }
    CHECK(std::filesystem::is_empty(folder.path()));
}

TEST_CASE("floats are rounded to codes and held at the ends") {
    const TemporaryFolder folder;
    WaveWriter writer(folder.path() / "a.wav", {});
    const std::vector<float> samples = {0.0f,         1.0f,         -1.0f,        2.0f,
                                        1.4f / 32768, 1.6f / 32768, -1.6f / 32768};
    writer.write_float(samples);
    writer.close();
    const std::string expected = little(0, 2) + little(32767, 2) + little(0x8000, 2) +
                                 little(32767, 2) + little(1, 2) + little(2, 2) + little(0xFFFE, 2);
    CHECK(bytes_of_file(folder.path() / "a.wav") == wave({}, expected));
}

TEST_CASE("bext and GUANO come back as they were written") {
    const TemporaryFolder folder;
    Metadata metadata;
    metadata.bext = BroadcastText{"a description", "program", "S1", "2026-03-14", "05:30:00"};
    metadata.guano = "Timestamp: 2026-03-14T05:30:00+08:00";
    WaveWriter writer(folder.path() / "a.wav", {.metadata = metadata});
    writer.write(std::vector<std::int16_t>(100));
    writer.close();
    auto opened = open_audio(folder.path() / "a.wav");
    AudioFile& file = std::get<AudioFile>(opened);
    CHECK(file.info().frames == 100);
    CHECK_FALSE(file.partly_usable());
    CHECK(file.metadata().guano == metadata.guano);
    CHECK(file.metadata().bext->description == "a description");
    CHECK(file.metadata().bext->originator_reference == "S1");
}

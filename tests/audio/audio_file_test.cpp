// Samples and facts of whole files: every coding, exact to the bit. Codings were put together by
// hand after the RIFF WAVE description (Microsoft/IBM 1991; extensible 2001; RF64: EBU Tech 3306),
// from memory.
#include "audio/audio_file.h"

#include <sndfile.h>

#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <limits>

#include "wave_bytes.h"

using namespace hearwood;
using namespace hearwood::test;

namespace {

AudioFile must_open(const std::filesystem::path& path) {
    auto opened = open_audio(path);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) FAIL(path << ": " << bad->reason);
    return std::move(std::get<AudioFile>(opened));
}

template <class Sample>
std::vector<Sample> all_samples(AudioFile& file) {
    std::vector<Sample> samples(file.info().frames * file.info().channels);
    CHECK(file.read(0, samples.data(), file.info().frames) == file.info().frames);
    return samples;
}

/// Through libsndfile's own writer: for the containers that we do not put together by hand.
void write_sndfile(const std::filesystem::path& path, int format, const std::vector<int>& samples,
                   int channels, int rate = 48'000) {
    SF_INFO info{};
    info.samplerate = rate;
    info.channels = channels;
    info.format = format;
    SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
    REQUIRE(file);
    sf_write_int(file, samples.data(), static_cast<sf_count_t>(samples.size()));
    sf_close(file);
}

}  // namespace

TEST_CASE("16-bit samples come as they are, with the facts of the file") {
    const TemporaryFolder folder;
    const Format format{.channels = 2, .rate = 44'100};
    const std::string samples =
        little(0x8000, 2) + little(0x7FFF, 2) + little(0, 2) + little(0xFFFF, 2);
    AudioFile file = must_open(folder.file("a.wav", wave(format, samples)));
    const AudioInfo& info = file.info();
    CHECK(info.sample_rate == 44'100);
    CHECK(info.channels == 2);
    CHECK(info.bits == 16);
    CHECK(info.format == SampleFormat::int16);
    CHECK(info.frames == 2);
    CHECK(info.container == "WAV");
    CHECK(info.file_bytes == 52);
    CHECK(info.seeks_cheaply);
    CHECK(all_samples<std::int16_t>(file) == std::vector<std::int16_t>{-32768, 32767, 0, -1});
    CHECK_FALSE(file.partly_usable());
}

TEST_CASE("8-bit samples are unsigned in WAV and arrive scaled to 16 bit, exactly") {
    const TemporaryFolder folder;
    AudioFile file = must_open(
        folder.file("a.wav", wave({.bits = 8}, std::string("\x00\x7F\x80\x81\xFF\x80", 6))));
    CHECK(file.info().format == SampleFormat::int16);
    CHECK(file.info().bits == 8);
    CHECK(all_samples<std::int16_t>(file) ==
          std::vector<std::int16_t>{-32768, -256, 0, 256, 32512, 0});
}

TEST_CASE("24-bit samples arrive left-justified in 32 bits") {
    const TemporaryFolder folder;
    const std::string samples =
        little(0x800000, 3) + little(0x7FFFFF, 3) + little(1, 3) + little(0xFFFFFF, 3);
    AudioFile file = must_open(folder.file("a.wav", wave({.bits = 24}, samples)));
    CHECK(file.info().format == SampleFormat::int32);
    CHECK(file.info().bits == 24);
    CHECK(
        all_samples<std::int32_t>(file) ==
        std::vector<std::int32_t>{std::numeric_limits<std::int32_t>::min(), 0x7FFFFF00, 256, -256});
}

TEST_CASE("32-bit samples and both floats arrive unchanged, NaN among them") {
    const TemporaryFolder folder;
    AudioFile whole =
        must_open(folder.file("i.wav", wave({.bits = 32}, little(0x80000001, 4) + little(7, 4))));
    CHECK(all_samples<std::int32_t>(whole) == std::vector<std::int32_t>{-2147483647, 7});

    const float f32[] = {0.1f, -1.5f, std::numeric_limits<float>::quiet_NaN()};
    AudioFile single = must_open(folder.file(
        "f.wav",
        wave({.tag = 3, .bits = 32}, std::string(reinterpret_cast<const char*>(f32), sizeof f32))));
    CHECK(single.info().format == SampleFormat::float32);
    const auto read32 = all_samples<float>(single);
    CHECK(std::memcmp(read32.data(), f32, sizeof f32) == 0);

    const double f64[] = {0.1, -2.25};
    AudioFile twice = must_open(folder.file(
        "d.wav",
        wave({.tag = 3, .bits = 64}, std::string(reinterpret_cast<const char*>(f64), sizeof f64))));
    CHECK(twice.info().format == SampleFormat::float64);
    CHECK(all_samples<double>(twice) == std::vector<double>{0.1, -2.25});
}

TEST_CASE(
    "extensible headers: the tag is in the GUID, and the bits that carry signal may be fewer") {
    const TemporaryFolder folder;
    const Format format{.bits = 24};
    const std::string samples = little(0x7FFFF0, 3) + little(0x800000, 3);
    AudioFile file = must_open(folder.file(
        "a.wav", riff(chunk("fmt ", extensible_body(format, 20)) + chunk("data", samples))));
    CHECK(file.info().bits == 20);
    CHECK(all_samples<std::int32_t>(file).front() == 0x7FFFF000);

    const Format floats{.tag = 3, .bits = 32};
    AudioFile single =
        must_open(folder.file("f.wav", riff(chunk("fmt ", extensible_body(floats, 32)) +
                                            chunk("data", std::string(8, '\0')))));
    CHECK(single.info().format == SampleFormat::float32);
}

TEST_CASE("24 bits in containers of 4 bytes are read by the container") {
    const TemporaryFolder folder;
    std::string body = format_body({.bits = 24});
    body[12] = 4;  // bytes a frame
    AudioFile file = must_open(folder.file(
        "a.wav",
        riff(chunk("fmt ", body) + chunk("data", little(0x7FFFFF00, 4) + little(0x100, 4)))));
    CHECK(file.info().bits == 24);
    CHECK(all_samples<std::int32_t>(file) == std::vector<std::int32_t>{0x7FFFFF00, 256});
}

TEST_CASE("RF64: the size of the data stands in ds64") {
    const TemporaryFolder folder;
    const std::string samples = counting(100);
    const std::string chunks =
        chunk("ds64", little(0, 8) + little(samples.size(), 8) + little(100, 8) + little(0, 4)) +
        chunk("fmt ", format_body({})) + "data" + little(0xFFFFFFFF, 4) + samples +
        chunk("guan", "GUANO|Version: 1.0\n");
    const std::string bytes = "RF64" + little(0xFFFFFFFF, 4) + "WAVE" + chunks;
    AudioFile file = must_open(folder.file("a.wav", bytes));
    CHECK(file.info().container == "RF64");
    CHECK(file.info().frames == 100);
    CHECK(all_samples<std::int16_t>(file).back() == 100);
    CHECK_FALSE(file.partly_usable());
    CHECK(guano_value(file.metadata().guano, "guano|version") == "1.0");
}

TEST_CASE("chunks may stand in any order and number, and an unknown one is stepped over") {
    const TemporaryFolder folder;
    std::string bext(602, '\0');
    bext.replace(288, 7, "SER-012");
    bext.replace(320, 18, "2026-03-1405:30:00");
    const std::string bytes =
        riff(chunk("junk", std::string(501, 'x')) + chunk("bext", bext) +
             chunk("fmt ", format_body({})) + chunk("LIST", "INFOsomething") +
             chunk("data", counting(10)) + chunk("guan", "Serial: 77\nTimestamp: x"));
    AudioFile file = must_open(folder.file("a.wav", bytes));
    CHECK(file.info().frames == 10);
    REQUIRE(file.metadata().bext);
    CHECK(file.metadata().bext->origination_date == "2026-03-14");
    CHECK(file.metadata().bext->origination_time == "05:30:00");
    CHECK(file.metadata().bext->originator_reference == "SER-012");
    CHECK(recorder_serial(file.metadata()) == "77");
    CHECK_FALSE(file.partly_usable());
}

TEST_CASE("blocks from any place are the same samples as one read") {
    const TemporaryFolder folder;
    const std::vector<std::string> names = {"a.wav", "a.flac", "a.w64", "a.aiff"};
    const int formats[] = {SF_FORMAT_WAV, SF_FORMAT_FLAC, SF_FORMAT_W64, SF_FORMAT_AIFF};
    std::vector<int> samples(20'000);
    for (std::size_t i = 0; i < samples.size(); ++i)
        samples[i] = static_cast<int>((i * 2654435761u) & 0xFFFF0000u);
    for (std::size_t f = 0; f < names.size(); ++f) {
        INFO(names[f]);
        const auto path = folder.path() / names[f];
        write_sndfile(path, formats[f] | SF_FORMAT_PCM_16, samples, 2);
        AudioFile file = must_open(path);
        REQUIRE(file.info().frames == 10'000);
        CHECK(file.info().bits == 16);
        const auto whole = all_samples<std::int16_t>(file);
        CHECK(whole[12'345] == static_cast<std::int16_t>(samples[12'345] >> 16));
        for (const std::uint64_t from : {9'999u, 0u, 5'000u, 5'100u, 17u}) {
            std::int16_t block[200];
            const std::size_t got = file.read(from, block, 100);
            CHECK(got == std::min<std::uint64_t>(100, 10'000 - from));
            CHECK(std::memcmp(block, whole.data() + 2 * from, got * 4) == 0);
        }
        std::int16_t none[2];
        CHECK(file.read(10'000, none, 1) == 0);
        CHECK_FALSE(file.partly_usable());
        float as_float[2];
        CHECK(file.read_float(3, as_float, 1) == 1);
        CHECK(as_float[0] == static_cast<float>(whole[6]) / 32768.0f);
    }
}

TEST_CASE("FLAC of 8 and 24 bits is as exact as WAV") {
    const TemporaryFolder folder;
    const std::vector<int> samples = {0x7FFFFF00, -2147483647 - 1, 256, -256, 0x12345600};
    write_sndfile(folder.path() / "a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, samples, 1);
    AudioFile file = must_open(folder.path() / "a.flac");
    CHECK(file.info().bits == 24);
    CHECK(file.info().container == "FLAC");
    CHECK(all_samples<std::int32_t>(file) == samples);

    write_sndfile(folder.path() / "b.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_S8,
                  {0x7F000000, -16777216}, 1);
    AudioFile small = must_open(folder.path() / "b.flac");
    CHECK(small.info().bits == 8);
    CHECK(all_samples<std::int16_t>(small) == std::vector<std::int16_t>{32512, -256});
}

TEST_CASE("lossy files say so, and a jump in them lands exactly") {
    const TemporaryFolder folder;
    std::vector<int> samples(48'000);
    for (std::size_t i = 0; i < samples.size(); ++i)
        samples[i] = static_cast<int>(1e9 * std::sin(static_cast<double>(i) * 0.05));
    for (const auto& [name, format] :
         {std::pair("a.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS),
          std::pair("a.mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III)}) {
        INFO(name);
        write_sndfile(folder.path() / name, format, samples, 1);
        AudioFile file = must_open(folder.path() / name);
        CHECK(file.info().bits == 0);
        CHECK(file.info().format == SampleFormat::float32);
        CHECK_FALSE(file.info().seeks_cheaply);
        CHECK_FALSE(file.partly_usable());
        const auto whole = all_samples<float>(file);
        // The sound itself, but for what the coder adds at its ends and takes from its precision.
        REQUIRE(whole.size() >= samples.size());
        double squares = 0;
        for (std::size_t i = 10'000; i < 40'000; ++i) squares += whole[i] * whole[i];
        CHECK(std::sqrt(squares / 30'000) ==
              Approx(1e9 / 2147483648.0 / std::sqrt(2)).epsilon(0.02));
        float block[50];
        REQUIRE(file.read(30'000, block, 50) == 50);
        CHECK(std::memcmp(block, whole.data() + 30'000, sizeof block) == 0);
        REQUIRE(file.read(100, block, 50) == 50);
        CHECK(std::memcmp(block, whole.data() + 100, sizeof block) == 0);
    }
}

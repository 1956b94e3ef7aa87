// Silencing a stretch of a file, clips at a common level.
#include <sndfile.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <vector>

#include "audio/silence.h"
#include "base/error.h"
#include "listen/clip.h"
#include "temporary_folder.h"

using namespace hearwood;
using hearwood::testing::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

/// Three seconds of two channels that are never silent.
fs::path written(const fs::path& folder, const std::string& name, int format) {
    const fs::path file = folder / name;
    SF_INFO info{};
    info.samplerate = 8000;
    info.channels = 2;
    info.format = format;
    SNDFILE* out = sf_open(file.c_str(), SFM_WRITE, &info);
    REQUIRE(out != nullptr);
    sf_set_string(out, SF_STR_TITLE, "dawn");
    std::vector<int> samples;
    for (int i = 0; i < 3 * 8000 * 2; ++i) samples.push_back((i % 997 + 3) << 21);
    sf_writef_int(out, samples.data(), 3 * 8000);
    sf_close(out);
    return file;
}

std::vector<int> samples_in(const fs::path& file) {
    SF_INFO info{};
    SNDFILE* in = sf_open(file.c_str(), SFM_READ, &info);
    REQUIRE(in != nullptr);
    std::vector<int> samples(static_cast<std::size_t>(info.frames * info.channels));
    CHECK(sf_readf_int(in, samples.data(), info.frames) == info.frames);
    sf_close(in);
    return samples;
}

std::string bytes_of_file(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("silencing changes the stretch and nothing else", "[listen]") {
    const TemporaryFolder folder;
    const auto [name, format] =
        GENERATE(table<std::string, int>({{"8.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_U8},
                                          {"16.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16},
                                          {"24.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24},
                                          {"float.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT},
                                          {"x.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_16},
                                          {"16.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16},
                                          {"24.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24}}));
    CAPTURE(name);
    const fs::path file = written(folder.path(), name, format);
    const std::vector<int> before = samples_in(file);
    const std::string bytes_before = bytes_of_file(file);
    silence_frames(file, 8000, 12001);
    const std::vector<int> after = samples_in(file);
    REQUIRE(after.size() == before.size());
    std::size_t wrong = 0;
    for (std::size_t i = 0; i < after.size(); ++i)
        wrong += after[i] != (i >= 2 * 8000 && i < 2 * 12001 ? 0 : before[i]);
    CHECK(wrong == 0);
    if (fs::path(name).extension() == ".wav") {
        const std::string bytes_after = bytes_of_file(file);
        REQUIRE(bytes_after.size() == bytes_before.size());
        CHECK(bytes_after.substr(0, 44) == bytes_before.substr(0, 44));
    }
    CHECK(std::distance(fs::directory_iterator(folder.path()), {}) ==
          1);  // nothing temporary stays
}

TEST_CASE("FLAC keeps its tags", "[listen]") {
    const TemporaryFolder folder;
    const fs::path file = written(folder.path(), "a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
    silence_frames(file, 0, 10);
    SF_INFO info{};
    SNDFILE* in = sf_open(file.c_str(), SFM_READ, &info);
    REQUIRE(in != nullptr);
    const char* title = sf_get_string(in, SF_STR_TITLE);
    REQUIRE(title != nullptr);
    CHECK(std::string(title) == "dawn");
    sf_close(in);
}

TEST_CASE("what cannot be silenced without changing the rest is refused and left alone",
          "[listen]") {
    const TemporaryFolder folder;
    const fs::path lossy = written(folder.path(), "a.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS);
    const fs::path text = folder.path() / "b.wav";
    std::ofstream(text) << "not a sound";
    for (const fs::path& file : {lossy, text}) {
        const std::string before = bytes_of_file(file);
        CHECK_THROWS_AS(silence_frames(file, 0, 100), InputError);
        CHECK(bytes_of_file(file) == before);
    }
}

TEST_CASE("clips come to one level, as far as their peak allows", "[listen]") {
    std::vector<float> steady(8000), peaky(8000, 0.0f);
    for (std::size_t i = 0; i < steady.size(); ++i)
        steady[i] = 0.5f + 0.001f * static_cast<float>(std::sin(0.3 * static_cast<double>(i)));
    peaky[4000] = 0.01f;
    to_common_level(steady);
    to_common_level(peaky);
    double squares = 0, sum = 0;
    for (const float x : steady) {
        squares += x * x;
        sum += x;
    }
    CHECK(10 * std::log10(2 * squares / 8000) == Approx(kClipLevelDbfs).margin(0.05));
    CHECK(std::abs(sum / 8000) < 1e-3);
    CHECK(*std::max_element(peaky.begin(), peaky.end()) == Approx(kClipPeak).margin(0.01));
    std::vector<float> silent(100, 0.0f);
    to_common_level(silent);
    CHECK(silent == std::vector<float>(100, 0.0f));
}

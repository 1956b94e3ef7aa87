// Files that dying batteries, pulled cards and hostile hands leave: each gets a result or a reason,
// never a crash.
#include "audio/damage.h"

#include <fcntl.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <fstream>

#include "audio/audio_file.h"
#include "wave_bytes.h"

using namespace hearwood;
using namespace hearwood::test;

namespace {

Unreadable must_refuse(const std::filesystem::path& path) {
    auto opened = open_audio(path);
    if (auto* bad = std::get_if<Unreadable>(&opened)) return *bad;
    FAIL(path << " was opened");
    return {};
}

/// STREAMINFO begins at byte 8; its bytes 13 (low half) to 17 hold the number of samples (RFC
/// 9639).
void set_flac_length(const std::filesystem::path& path, const std::array<char, 5>& bytes) {
    const int descriptor = ::open(path.c_str(), O_WRONLY);
    REQUIRE(::pwrite(descriptor, bytes.data(), bytes.size(), 8 + 13) == 5);
    ::close(descriptor);
}

std::size_t frames_read(AudioFile& file) {
    std::vector<char> block(file.info().frame_bytes() * 1000);
    std::size_t total = 0;
    while (const std::size_t got = file.read(total, block.data(), 1000)) total += got;
    return total;
}

const std::string kHeader = "RIFF" + little(0, 4) + "WAVE" + chunk("fmt ", format_body({}));

}  // namespace

TEST_CASE("what cannot be used is refused with its reason") {
    const TemporaryFolder folder;
    struct Row {
        std::string name, bytes;
        UnreadableKind kind;
        std::string reason;
    };
    const std::vector<Row> rows = {
        {"empty.wav", "", UnreadableKind::empty, "the file is empty (0 bytes)"},
        {"text.wav", "Hello world, I am text", UnreadableKind::not_audio,
         "not sound: it begins with \"Hello wo\", which no format that is read here does"},
        {"binary.wav", std::string("\x01\x04\x1B[2Jabc", 8), UnreadableKind::not_audio,
         "not sound: it begins with \"\\x01\\x04\\x1B[2Jab\", which no format that is read here "
         "does"},
        {"header.wav", kHeader, UnreadableKind::no_samples, "a header with no samples behind it"},
        {"zero.wav", kHeader + chunk("data", ""), UnreadableKind::no_samples,
         "a header with no samples behind it"},
        {"zero-list.wav", kHeader + chunk("data", "") + chunk("LIST", "INFOabcd"),
         UnreadableKind::no_samples, "a header with no samples behind it"},
        {"half.wav", kHeader + chunk("data", "x"), UnreadableKind::no_samples,
         "a header with less than one sample behind it"},
        {"no-channels.wav", wave({.channels = 0}, counting(4)), UnreadableKind::implausible,
         "the header says 0 channels; a recording has 1 to 64"},
        {"many-channels.wav", wave({.channels = 65535}, counting(4)), UnreadableKind::implausible,
         "the header says 65,535 channels; a recording has 1 to 64"},
        {"slow.wav", wave({.rate = 1}, counting(4)), UnreadableKind::implausible,
         "the header says 1 Hz; sample rates run from 1,000 to 1,000,000 Hz"},
        {"fast.wav", wave({.rate = 4'000'000}, counting(4)), UnreadableKind::implausible,
         "the header says 4,000,000 Hz; sample rates run from 1,000 to 1,000,000 Hz"},
        {"no-bits.wav", wave({.bits = 0}, counting(4)), UnreadableKind::implausible,
         "the header says 0 bits a sample"},
        {"no-format.wav", "RIFF" + little(4, 4) + "WAVE" + chunk("data", counting(4)),
         UnreadableKind::not_audio,
         "a WAV file with no whole fmt chunk: the header is cut off or broken"},
    };
    for (const Row& row : rows) {
        INFO(row.name);
        const Unreadable bad = must_refuse(folder.file(row.name, row.bytes));
        CHECK(bad.kind == row.kind);
        CHECK(bad.reason == row.reason);
    }
}

TEST_CASE("things that are no files are refused without waiting for them") {
    const TemporaryFolder folder;
    std::filesystem::create_directory(folder.path() / "folder.wav");
    CHECK(must_refuse(folder.path() / "folder.wav").kind == UnreadableKind::not_a_file);
    REQUIRE(::mkfifo((folder.path() / "pipe.wav").c_str(), 0600) == 0);
    CHECK(must_refuse(folder.path() / "pipe.wav").kind == UnreadableKind::not_a_file);
    CHECK(must_refuse(folder.path() / "nothing.wav").kind == UnreadableKind::missing);
    std::filesystem::create_symlink("loop.wav", folder.path() / "loop.wav");
    CHECK(must_refuse(folder.path() / "loop.wav").kind == UnreadableKind::not_a_file);
}

TEST_CASE("a file without permission is refused with that reason") {
    const TemporaryFolder folder;
    const auto path = folder.file("a.wav", wave({}, counting(4)));
    ::chmod(path.c_str(), 0);
    // Permission bits do not bind root, so that the test is somebody else for a moment.
    const uid_t self = ::geteuid();
    if (self == 0) REQUIRE(::seteuid(65'534) == 0);
    auto opened = open_audio(path);
    if (self == 0) REQUIRE(::seteuid(self) == 0);
    REQUIRE(std::holds_alternative<Unreadable>(opened));
    CHECK(std::get<Unreadable>(opened).kind == UnreadableKind::no_permission);
}

TEST_CASE("any bytes make a name: spaces, quotes, newlines, bytes that are no UTF-8") {
    const TemporaryFolder folder;
    for (const char* name :
         {"a b.wav", "\"q\" 'r'.wav", "new\nline.wav", "\xFF\xFE.wav", "\x1B[2J.wav"}) {
        auto opened = open_audio(folder.file(name, wave({}, counting(4))));
        CHECK(std::holds_alternative<AudioFile>(opened));
    }
}

TEST_CASE("a data chunk longer than the file: what is there is used, and the loss is told") {
    const TemporaryFolder folder;
    const std::string bytes = kHeader + "data" + little(96'000, 4) + counting(24'000);
    auto opened = open_audio(folder.file("a.wav", bytes));
    AudioFile& file = std::get<AudioFile>(opened);
    CHECK(file.info().frames == 24'000);
    REQUIRE(file.damages().size() == 1);
    const Damage damage = file.damages()[0];
    CHECK(damage.kind == DamageKind::truncated);
    CHECK(damage.byte == bytes.size());
    CHECK(damage.bytes_lost == 48'000);
    CHECK(damage.seconds_lost == 0.5);
    CHECK(describe(damage) ==
          "truncated: the file ends at byte 48,044, 48,000 bytes (0.500 s) before what its header "
          "promises");
    CHECK(frames_read(file) == 24'000);
    CHECK(file.damages().size() == 1);
}

TEST_CASE("a header that was never finished: the length of the file counts") {
    const TemporaryFolder folder;
    for (const std::uint64_t size : {0x0u, 0xFFFFFFFFu, 0x7FFFFFFFu, 0x7FFFF000u}) {
        auto opened =
            open_audio(folder.file("a.wav", kHeader + "data" + little(size, 4) + counting(1000)));
        AudioFile& file = std::get<AudioFile>(opened);
        CHECK(file.info().frames == 1000);
        REQUIRE(file.damages().size() == 1);
        CHECK(file.damages()[0].kind == DamageKind::header_unfinished);
        CHECK(describe(file.damages()[0]) ==
              "header never finished: the length is taken from the length of the file");
        CHECK(frames_read(file) == 1000);
    }
}

TEST_CASE("a length of more than 32 bits of which the lower ones were written is found again") {
    // The length of a RIFF chunk has 32 bits (Multimedia Programming Interface and Data
    // Specifications 1.0, 1991); a recorder that goes on beyond them leaves the rest modulo 2^32.
    const TemporaryFolder folder;
    const std::uint64_t round = std::uint64_t{1} << 32;
    for (const std::uint64_t bytes : {round + 2 * 48'000, 2 * round + 1'000, round}) {
        for (const bool chunk_behind : {false, true}) {
            const std::string head = kHeader + "data" + little(bytes % round, 4);
            const auto path = folder.path() / "long.wav";
            std::ofstream(path, std::ios::binary) << head;
            std::filesystem::resize_file(path, head.size() + bytes);  // a hole: no room is taken
            if (chunk_behind && bytes % round != 0)
                std::ofstream(path, std::ios::binary | std::ios::app) << chunk("LIST", "INFO");
            auto opened = open_audio(path);
            REQUIRE(std::holds_alternative<AudioFile>(opened));
            AudioFile& file = std::get<AudioFile>(opened);
            CHECK(static_cast<std::uint64_t>(file.info().frames) == bytes / 2);
            CHECK(file.damages().size() == 1);
            CHECK(file.damages().front().kind == DamageKind::header_unfinished);
            CHECK(file.damages().front().seconds_lost == 0);
        }
    }
}

TEST_CASE("an odd byte at the end belongs to no sample") {
    const TemporaryFolder folder;
    auto inside =
        open_audio(folder.file("a.wav", kHeader + "data" + little(2001, 4) + counting(1000) + "x"));
    AudioFile& file = std::get<AudioFile>(inside);
    CHECK(file.info().frames == 1000);
    REQUIRE(file.damages().size() == 1);
    CHECK(file.damages()[0].kind == DamageKind::odd_bytes);
    CHECK(describe(file.damages()[0]) ==
          "odd bytes at the end: 1 byte from byte 2,044 on belong to no sample and no chunk");

    auto behind = open_audio(folder.file("b.wav", wave({}, counting(1000)) + '\0'));
    AudioFile& other = std::get<AudioFile>(behind);
    CHECK(other.info().frames == 1000);
    REQUIRE(other.damages().size() == 1);
    CHECK(other.damages()[0].kind == DamageKind::odd_bytes);
    CHECK(other.damages()[0].bytes_lost == 1);
}

TEST_CASE("zeros up to a whole sector are no damage") {
    const TemporaryFolder folder;
    std::string bytes = wave({}, counting(1000));
    bytes.resize(2560, '\0');
    auto opened = open_audio(folder.file("a.wav", bytes));
    CHECK_FALSE(std::get<AudioFile>(opened).partly_usable());
}

TEST_CASE("a compressed file that was cut off is found by its last frame, and tells what is lost") {
    const TemporaryFolder folder;
    const auto path = folder.path() / "a.flac";
    std::vector<short> samples(96'000);
    unsigned seed = 1;
    for (short& s : samples) s = static_cast<short>((seed = seed * 1664525u + 1013904223u) >> 16);
    SF_INFO info{};
    info.samplerate = 48'000;
    info.channels = 1;
    info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
    SNDFILE* out = sf_open(path.c_str(), SFM_WRITE, &info);
    sf_write_short(out, samples.data(), static_cast<sf_count_t>(samples.size()));
    sf_close(out);
    {
        auto opened = open_audio(path);
        AudioFile& whole = std::get<AudioFile>(opened);
        whole.check_end();
        CHECK_FALSE(whole.partly_usable());
        CHECK(frames_read(whole) == 96'000);
    }
    std::filesystem::resize_file(path, std::filesystem::file_size(path) / 2);
    auto opened = open_audio(path);
    AudioFile& file = std::get<AudioFile>(opened);
    CHECK(file.info().frames == 96'000);
    file.check_end();
    REQUIRE(file.damages().size() == 1);
    const double lost = file.damages()[0].seconds_lost;
    CHECK(lost > 0.9);
    CHECK(lost < 1.2);
    const std::size_t frames = frames_read(file);
    CHECK(frames == static_cast<std::size_t>(std::llround((2.0 - lost) * 48'000)));
    std::vector<short> block(100);
    REQUIRE(file.read(frames - 100, block.data(), 100) == 100);
    CHECK(std::memcmp(block.data(), samples.data() + frames - 100, 200) == 0);
}

TEST_CASE("a FLAC header without its length is counted") {
    const TemporaryFolder folder;
    const auto path = folder.path() / "a.flac";
    SF_INFO info{};
    info.samplerate = 48'000;
    info.channels = 1;
    info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
    SNDFILE* out = sf_open(path.c_str(), SFM_WRITE, &info);
    const std::vector<short> samples(10'000, 5);
    sf_write_short(out, samples.data(), 10'000);
    sf_close(out);
    set_flac_length(path, {'\xF0', 0, 0, 0, 0});
    auto opened = open_audio(path);
    AudioFile& file = std::get<AudioFile>(opened);
    CHECK(file.info().frames == 10'000);
    CHECK(frames_read(file) == 10'000);
    REQUIRE(file.damages().size() == 1);
    CHECK(file.damages()[0].kind == DamageKind::header_unfinished);
}

namespace {

/// A file of `seconds` of 16-bit noise at 48 kHz, one channel, as libsndfile writes this format.
void write_noise(const std::filesystem::path& path, int format, double seconds) {
    SF_INFO info{};
    info.samplerate = 48'000;
    info.channels = 1;
    info.format = format;
    SNDFILE* out = sf_open(path.c_str(), SFM_WRITE, &info);
    REQUIRE(out != nullptr);
    std::vector<short> samples(static_cast<std::size_t>(seconds * 48'000));
    unsigned seed = 1;
    for (short& s : samples) s = static_cast<short>((seed = seed * 1664525u + 1013904223u) >> 16);
    sf_write_short(out, samples.data(), static_cast<sf_count_t>(samples.size()));
    sf_close(out);
}

}  // namespace

TEST_CASE("AIFF and AU that were cut off tell what their headers promised") {
    const TemporaryFolder folder;
    for (const int format : {SF_FORMAT_AIFF, SF_FORMAT_AU}) {
        INFO(std::hex << format);
        const auto path = folder.path() / "a.sound";
        write_noise(path, format | SF_FORMAT_PCM_16, 2);
        const auto whole = open_audio(path);
        CHECK_FALSE(std::get<AudioFile>(whole).partly_usable());
        // 500 ms of samples from the end of all there are; what some formats put behind them is
        // less.
        std::filesystem::resize_file(path, std::filesystem::file_size(path) - 48'000);
        auto opened = open_audio(path);
        AudioFile& file = std::get<AudioFile>(opened);
        REQUIRE(file.damages().size() == 1);
        const Damage damage = file.damages()[0];
        CHECK(damage.kind == DamageKind::truncated);
        CHECK(damage.byte == std::filesystem::file_size(path));
        CHECK(damage.seconds_lost == Approx(0.5).margin(0.05));
        CHECK(file.info().seconds() + damage.seconds_lost == Approx(2).epsilon(1e-3));
        CHECK(frames_read(file) == file.info().frames);
    }
}

TEST_CASE("a CAF that was cut off is refused by libsndfile, and for the true reason") {
    const TemporaryFolder folder;
    const auto path = folder.path() / "a.caf";
    write_noise(path, SF_FORMAT_CAF | SF_FORMAT_PCM_16, 2);
    CHECK_FALSE(std::get<AudioFile>(open_audio(path)).partly_usable());
    std::filesystem::resize_file(path, std::filesystem::file_size(path) - 48'000);
    CHECK(must_refuse(path).reason.starts_with("truncated: the file ends at byte 148,096, 48,000"));
}

TEST_CASE("an Ogg stream without its last page is cut off, by how much nobody knows") {
    const TemporaryFolder folder;
    const auto path = folder.path() / "a.ogg";
    write_noise(path, SF_FORMAT_OGG | SF_FORMAT_VORBIS, 20);
    const auto size = std::filesystem::file_size(path);
    CHECK_FALSE(std::get<AudioFile>(open_audio(path)).partly_usable());
    for (const auto left : {size - 1, size / 2}) {
        std::filesystem::resize_file(path, left);
        auto opened = open_audio(path);
        const AudioFile& file = std::get<AudioFile>(opened);
        REQUIRE(file.damages().size() == 1);
        CHECK(describe(file.damages()[0]).find("how much is missing is not known") !=
              std::string::npos);
    }
}

TEST_CASE("a FLAC header that promises more than its file can hold is not believed") {
    const TemporaryFolder folder;
    const auto path = folder.path() / "a.flac";
    write_noise(path, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 0.5);
    set_flac_length(path, {'\xFF', '\xFF', '\xFF', '\xFF', '\xFF'});  // 2^36 - 1 samples
    auto opened = open_audio(path);
    AudioFile& file = std::get<AudioFile>(opened);
    CHECK(file.info().frames == 24'000);
    CHECK(frames_read(file) == 24'000);
    REQUIRE(file.damages().size() == 1);
    CHECK(file.damages()[0].kind == DamageKind::truncated);
    CHECK(file.damages()[0].seconds_lost == Approx((std::pow(2, 36) - 1 - 24'000) / 48'000));
}

TEST_CASE("a FLAC header without its length over spoilt sound: the loss is told too") {
    const TemporaryFolder folder;
    const auto path = folder.path() / "a.flac";
    write_noise(path, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 10);
    set_flac_length(path, {'\xF0', 0, 0, 0, 0});
    std::fstream bytes(path, std::ios::binary | std::ios::in | std::ios::out);
    bytes.seekp(static_cast<std::streamoff>(std::filesystem::file_size(path) / 2));
    bytes << std::string(100'000, 'x');
    bytes.close();
    auto opened = open_audio(path);
    AudioFile& file = std::get<AudioFile>(opened);
    CHECK(file.info().frames < 480'000);
    CHECK(frames_read(file) == file.info().frames);
    REQUIRE(file.damages().size() == 2);
    CHECK(file.damages()[0].kind == DamageKind::header_unfinished);
    CHECK(describe(file.damages()[1]) ==
          "decoding error: the compressed sound is spoilt, by how much is not known");
}

TEST_CASE("cut at every length, a file gives a result or a reason") {
    const TemporaryFolder folder;
    std::string bext(602, 'b');
    const std::string stereo = little(0, 8) + little(40, 8) + little(10, 8) + little(0, 4);
    const std::vector<std::string> files = {
        riff(chunk("fmt ", format_body({})) + chunk("bext", bext) + chunk("data", counting(40)) +
             chunk("guan", "Timestamp: 2026-03-14T05:30:00Z")),
        riff(chunk("fmt ", extensible_body({.channels = 2, .bits = 24}, 24)) +
             chunk("data", std::string(121, 'd'))),
        "RF64" + little(0xFFFFFFFF, 4) + "WAVE" + chunk("ds64", stereo) +
            chunk("fmt ", format_body({.channels = 2})) + "data" + little(0xFFFFFFFF, 4) +
            counting(20),
    };
    for (const std::string& bytes : files) {
        for (std::size_t length = 0; length <= bytes.size(); ++length) {
            INFO(length << " of " << bytes.size());
            const auto path = folder.file("cut.wav", bytes.substr(0, length));
            auto opened = open_audio(path);
            if (const auto* bad = std::get_if<Unreadable>(&opened)) {
                CHECK_FALSE(bad->reason.empty());
                continue;
            }
            AudioFile& file = std::get<AudioFile>(opened);
            CHECK(frames_read(file) == file.info().frames);
            for (const Damage& damage : file.damages()) CHECK_FALSE(describe(damage).empty());
        }
    }
}

TEST_CASE("every byte of a header may be anything") {
    const TemporaryFolder folder;
    const std::string bytes =
        riff(chunk("fmt ", extensible_body({}, 16)) + chunk("data", counting(8)));
    for (std::size_t at = 0; at < bytes.size() - 16; ++at) {
        for (const char value : {'\x00', '\x01', '\x7F', '\x80', '\xFF'}) {
            std::string spoilt = bytes;
            spoilt[at] = value;
            auto opened = open_audio(folder.file("spoilt.wav", spoilt));
            if (auto* file = std::get_if<AudioFile>(&opened)) CHECK(frames_read(*file) <= 64);
        }
    }
}

TEST_CASE("a chunk that claims 4 GB costs nothing") {
    const TemporaryFolder folder;
    const std::string huge =
        "RIFF" + little(0, 4) + "WAVE" + "fmt " + little(0xFFFFFFF0, 4) + format_body({});
    CHECK(must_refuse(folder.file("fmt.wav", huge)).kind == UnreadableKind::no_samples);
    const std::string text = kHeader + "guan" + little(0xFFFFFFF0, 4) + "Timestamp: x";
    CHECK(must_refuse(folder.file("guan.wav", text)).kind == UnreadableKind::no_samples);
}

// Zeros in place of sectors that a card did not give: the segments that hold them are left out.
#include "measure/hole_finder.h"

#include <sys/stat.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <map>
#include <set>

#include "support.h"

namespace hearwood {
namespace {

using testing::SurveyOnDisk;

constexpr std::uint64_t kHeader = 44;

/// The segments of which there are rows, in a store that holds one recording.
std::map<int, std::set<int>> segments_by_channel(const Store& store) {
    std::map<int, std::set<int>> segments;
    store.for_each_segment(
        [&](const RecordingRow&, const SegmentRow& s) { segments[s.channel].insert(s.segment); });
    return segments;
}

void put_zeros(const std::filesystem::path& file, std::uint64_t at, std::uint64_t count) {
    std::fstream out(file, std::ios::in | std::ios::out | std::ios::binary);
    out.seekp(static_cast<std::streamoff>(at));
    for (std::uint64_t i = 0; i < count; ++i) out.put('\0');
}

/// As offload leaves it: known, not proved, not measured.
void record_as_salvaged(const SurveyOnDisk& survey, const std::filesystem::path& file,
                        bool proved) {
    Store store = survey.open();
    RecordingRow row;
    row.deployment = "D1";
    row.path = "recordings/D1/" + file.filename().string();
    row.size = static_cast<std::int64_t>(std::filesystem::file_size(file));
    row.sha256 = std::string(64, 'a');
    row.card_path = file.filename().string();
    row.proved = proved;
    struct stat status {};
    REQUIRE(stat(file.c_str(), &status) == 0);
    row.mtime_ns = status.st_mtim.tv_sec * 1'000'000'000LL + status.st_mtim.tv_nsec;
    store.begin();
    store.put(row);
    store.commit();
}

bool found(const AudioInfo& info, const std::vector<std::int16_t>& samples, std::size_t block) {
    HoleFinder holes(info);
    bool hole = false;
    for (std::size_t at = 0; at < samples.size(); at += block)
        hole = holes.add(samples.data() + at, std::min(block, samples.size() - at));
    return hole;
}

TEST_CASE("a hole is a long run of zeros, wherever the blocks end") {
    AudioInfo info;
    info.channels = 1;
    info.bits = 16;
    for (const std::size_t zeros : {HoleFinder::kSamples - 1, HoleFinder::kSamples}) {
        std::vector<std::int16_t> samples(1'000, 7);
        std::fill_n(samples.begin() + 300, zeros, std::int16_t{0});
        for (const std::size_t block : {1u, 100u, 333u, 1'000u})
            CHECK(found(info, samples, block) == (zeros == HoleFinder::kSamples));
    }
}

TEST_CASE("a byte 0 of an 8-bit WAV is its lowest sample") {
    AudioInfo info;
    info.channels = 1;
    info.bits = 8;
    info.container = "WAV";
    CHECK(found(info, std::vector<std::int16_t>(300, -32'768), 100));
    CHECK_FALSE(found(info, std::vector<std::int16_t>(300, 0), 100));
}

TEST_CASE("segments of a salvaged copy that hold zeros are not measured, the others are") {
    SurveyOnDisk survey;
    const int channels = GENERATE(1, 3);
    // Five segments of two seconds; the zeros lie over the border of the second and the third.
    const auto file = survey.wave("D1", "A_20310504_050000.wav", 10, 1, channels);
    const auto border = kHeader + std::uint64_t{2 * 2 * 24'000} * 2 * channels;
    put_zeros(file, border - 2'048, 4'096);
    const bool proved = GENERATE(false, true);
    record_as_salvaged(survey, file, proved);
    survey.measure();

    const Store store = survey.open();
    const std::set<int> wanted = proved ? std::set{0, 1, 2, 3, 4} : std::set{0, 3, 4};
    const auto segments = segments_by_channel(store);
    REQUIRE(segments.size() == static_cast<std::size_t>(channels));
    for (const auto& [channel, of_channel] : segments) CHECK(of_channel == wanted);

    const RecordingRow row = store.find("recordings/D1/A_20310504_050000.wav").value();
    if (proved) {
        CHECK(row.state == RecordingState::measured);  // zeros that the card held itself
        return;
    }
    CHECK(row.state == RecordingState::damaged);
    CHECK(row.lost_s == Approx(4));
    CHECK(row.reason ==
          "4.000 s could not be read (segments with zeros in place of sound are left out); parts "
          "of it could not be read from the card and are silence in the copy");
}

}  // namespace
}  // namespace hearwood

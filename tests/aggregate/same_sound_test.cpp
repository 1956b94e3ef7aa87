// One card under two sites: told by content, or by what is kept of every segment.
#include "aggregate/same_sound.h"

#include <catch2/catch.hpp>

#include "aggregate/judged_segments.h"
#include "aggregate/site_values.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

namespace {

/// As index/kept_spectrum.h has it: version, power of each bin, share of each bin.
std::string spectrum(int mark, int bins = 5) {
    std::string bytes(1, '\1');
    for (int bin = 0; bin < bins; ++bin) {
        bytes += static_cast<char>(bin * 7 + mark);
        bytes += '\xF0';
    }
    return bytes + std::string(static_cast<std::size_t>(bins), '\3');
}

std::string silence(int bins = 5) {
    std::string bytes(1, '\1');
    for (int bin = 0; bin < bins; ++bin) bytes += std::string("\x00\x80", 2);
    return bytes + std::string(static_cast<std::size_t>(bins), '\xFF');
}

struct SoundScene {
    Survey survey = four_sites();
    TemporaryFolder folder;
    Filler filler{survey, folder.path() / "test.db"};

    void add(const std::string& deployment, const std::string& name, const std::string& sha256,
             const std::vector<std::string>& spectra) {
        RecordingRow row =
            filler.row(deployment, name, "2031-05-04 10:00:00", static_cast<int>(spectra.size()));
        row.sha256 = sha256;
        Store& store = filler.store();
        store.begin();
        const std::int64_t id = store.put(row);
        std::vector<MeasuredSegment> segments;
        for (std::size_t i = 0; i < spectra.size(); ++i) {
            MeasuredSegment& segment = segments.emplace_back();
            segment.row.segment = static_cast<int>(i);
            segment.row.first_sample = static_cast<std::int64_t>(i) * 60 * row.sample_rate;
            segment.row.samples = std::int64_t{60} * row.sample_rate;
            segment.row.complete = true;
            segment.row.values.assign(filler.settings().columns.size(), -40);
            segment.spectra = spectra[i];
        }
        store.append(id, segments);
        store.commit();
    }
    std::vector<SameSound> same() const { return same_sounds(survey, filler.store()); }
};

}  // namespace

TEST_CASE("equal content at two sites is the same sound, at one site it is not") {
    SoundScene scene;
    scene.add("DK1", "a.wav", "aa", {spectrum(1)});
    scene.add("DK1", "copy.wav", "aa", {spectrum(1)});
    scene.add("DH1", "b.wav", "bb", {spectrum(2)});
    CHECK(scene.same().empty());
    scene.add("DH1", "z.wav", "aa", {spectrum(1)});
    const auto same = scene.same();
    REQUIRE(same.size() == 1);
    CHECK(same[0].deployment_a == "DH1");  // by name
    CHECK(same[0].deployment_b == "DK1");
    CHECK(same[0].recordings == 2);  // a.wav and its copy
    const auto findings = findings_of(same, scene.survey);
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].severity == Severity::serious);
    CHECK(findings[0].code == FindingCode::same_sound);
    CHECK(findings[0].what.find("H1") != std::string::npos);
    CHECK(findings[0].subject == Subject::deployment("DK1", "K1"));
}

TEST_CASE("without checksums equal kept spectra of several segments tell") {
    SoundScene scene;
    scene.add("DK1", "a.wav", "", {spectrum(1), spectrum(2), spectrum(3)});
    scene.add("DK2", "b.wav", "", {spectrum(1), spectrum(2), spectrum(9)});
    CHECK(scene.same().empty());  // two are not several
    scene.add("DH1", "c.wav", "", {spectrum(1), spectrum(2), spectrum(3)});
    const auto same = scene.same();
    REQUIRE(same.size() == 1);
    CHECK(same[0].segments == 3);
    CHECK(same[0].recordings == 0);
}

TEST_CASE("a copy with another checksum that one side lacks is told by its spectra") {
    SoundScene scene;
    scene.add("DK1", "a.wav", "aa", {spectrum(1), spectrum(2), spectrum(3)});
    scene.add("DH1", "c.wav", "", {spectrum(1), spectrum(2), spectrum(3)});
    CHECK(scene.same().size() == 1);
}

TEST_CASE("silence is like silence and says nothing") {
    SoundScene scene;
    scene.add("DK1", "a.wav", "", {silence(), silence(), silence(), silence()});
    scene.add("DH1", "b.wav", "", {silence(), silence(), silence(), silence()});
    CHECK(scene.same().empty());
}

TEST_CASE("two dead microphones with the same checksum are not one sound") {
    SoundScene scene;
    scene.add("DK1", "a.wav", "aa", {silence(), silence()});
    scene.add("DH1", "b.wav", "aa", {silence(), silence()});
    CHECK(scene.same().empty());
    scene.add("DK2", "c.wav", "bb", {silence(), spectrum(2)});
    scene.add("DH2", "d.wav", "bb", {silence(), spectrum(2)});
    CHECK(scene.same().size() == 1);
}

TEST_CASE("neither of two sites with the same sound is used") {
    SoundScene scene;
    scene.add("DK1", "a.wav", "aa", {spectrum(1)});
    scene.add("DH1", "b.wav", "aa", {spectrum(1)});
    scene.add("DK2", "c.wav", "cc", {spectrum(2)});
    const SiteValues values = compute_site_values(scene.survey, scene.filler.store());
    CHECK(values.kept == 1);
    REQUIRE(values.same_sounds.size() == 1);
    for (const SiteMean& mean : values.hours) CHECK((mean.kept > 0) == (mean.site == 1));
}

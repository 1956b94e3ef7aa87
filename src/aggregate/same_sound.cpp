#include "aggregate/same_sound.h"

#include <fmt/core.h>

#include <algorithm>
#include <functional>
#include <map>
#include <utility>

#include "aggregate/decided.h"
#include "aggregate/judged_segments.h"
#include "aggregate/known_recordings.h"
#include "base/text.h"

namespace hearwood {

namespace {

struct Known {
    std::size_t deployment;
    std::int64_t id;
    std::string path;
    bool hashed;
};

using Pair = std::pair<std::size_t, std::size_t>;  // of deployments, by name

bool has_sound(const RecordingRow& row) {
    return row.state != RecordingState::unreadable && row.frames > 0 && !row.gone;
}

/// The first spectrum of a recording that holds anything; empty when none of a few does.
std::string first_spectrum(const Store& store, std::int64_t recording) {
    constexpr int kTried = 5;
    for (int segment = 0; segment < kTried; ++segment)
        if (std::string bytes = store.spectrum(recording, 0, segment); tells(bytes)) return bytes;
    return {};
}

std::int64_t equal_segments(const Store& store, std::int64_t a, std::int64_t b) {
    std::vector<std::string> spectra;
    store.for_each_spectrum_of(
        a, [&](int, int, std::string_view bytes) { spectra.emplace_back(bytes); });
    std::int64_t equal = 0;
    std::size_t next = 0;
    store.for_each_spectrum_of(b, [&](int, int, std::string_view bytes) {
        if (next < spectra.size() && spectra[next] == bytes && tells(bytes)) ++equal;
        ++next;
    });
    return equal;
}

class Finder {
  public:
    Finder(const Survey& survey, const Store& store)
        : survey_(survey), store_(store), decided_(survey) {}

    std::vector<SameSound> find() {
        for_each_recording([&](std::size_t, const RecordingRow& row) {
            all_hashed_ = all_hashed_ && !row.sha256.empty();
        });
        for_each_recording(
            [&](std::size_t deployment, const RecordingRow& row) { look_at(deployment, row); });
        std::vector<SameSound> result;
        for (auto& [pair, same] : found_)
            if (same.recordings > 0 || same.segments >= kLeastEqualSegments)
                result.push_back(std::move(same));
        return result;
    }

  private:
    template <class Use>
    void for_each_recording(const Use& use) const {
        for (const std::size_t deployment : deployments_by_name(survey_))
            store_.for_each_recording_of(
                survey_.deployments[deployment].name, [&](const RecordingRow& row) {
                    if (has_sound(row) && !decided_.left_out_whole(deployment, row.path))
                        use(deployment, row);
                });
    }

    std::size_t site_of(const Known& known) const {
        return survey_.deployments[known.deployment].site;
    }

    void look_at(std::size_t deployment, const RecordingRow& row) {
        const Known known{deployment, row.id, row.path, !row.sha256.empty()};
        if (known.hashed) {
            const auto [place, is_new] = by_content_.try_emplace(row.sha256, known);
            if (!is_new && site_of(place->second) != site_of(known) && !is_silent(store_, row))
                ++pair_of(place->second, known).recordings;
        }
        if (all_hashed_) return;
        const std::string spectrum = first_spectrum(store_, row.id);
        if (spectrum.empty()) return;
        const auto [place, is_new] =
            by_spectrum_.try_emplace(std::hash<std::string>{}(spectrum), known);
        const Known& other = place->second;
        if (is_new || site_of(other) == site_of(known) || (other.hashed && known.hashed)) return;
        if (const std::int64_t equal = equal_segments(store_, other.id, row.id); equal > 0)
            pair_of(other, known).segments += equal;
    }

    /// `one` comes before `other` in the walk.
    SameSound& pair_of(const Known& one, const Known& other) {
        const auto [place, is_new] = found_.try_emplace({one.deployment, other.deployment});
        SameSound& same = place->second;
        if (is_new)
            same = {site_of(one),
                    site_of(other),
                    survey_.deployments[one.deployment].name,
                    survey_.deployments[other.deployment].name,
                    one.path,
                    other.path,
                    0,
                    0};
        return same;
    }

    bool all_hashed_ = true;
    const Survey& survey_;
    const Store& store_;
    Decided decided_;
    std::map<std::string, Known> by_content_;
    std::map<std::size_t, Known> by_spectrum_;
    std::map<Pair, SameSound> found_;
};

}  // namespace

std::vector<SameSound> same_sounds(const Survey& survey, const Store& store) {
    return Finder(survey, store).find();
}

std::vector<Finding> findings_of(const std::vector<SameSound>& same, const Survey& survey) {
    std::vector<Finding> findings;
    for (const SameSound& pair : same) {
        const std::string& one = survey.sites[pair.site_a].name;
        const std::string& other = survey.sites[pair.site_b].name;
        const std::string how =
            pair.recordings > 0
                ? counted(pair.recordings, "of its recordings has", "of its recordings have") +
                      " the same content (SHA-256)"
                : counted(pair.segments, "of its segments has", "of its segments have") +
                      " the same kept spectrum";
        findings.push_back(
            {Severity::serious, FindingCode::same_sound,
             Subject::deployment(pair.deployment_b, other),
             fmt::format("{} as deployment {} of site {} ({} and {}, say). One of the two is a "
                         "copy under a wrong name, so neither {} nor {} is used.",
                         how, pair.deployment_a, one, pair.recording_b, pair.recording_a, one,
                         other),
             "Find out which of the two was recorded there, and leave the other's recordings out "
             "by a "
             "row of decisions.csv."});
    }
    return findings;
}

}  // namespace hearwood

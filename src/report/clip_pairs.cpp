#include "report/clip_pairs.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "base/file.h"
#include "base/missing.h"

namespace hearwood {

namespace {

using Candidates = std::vector<ChosenSegment>;

/// Candidates of one window and block by date and hour: class A, class B.
using Hours = std::map<std::pair<Date, int>, std::array<Candidates, 2>>;

double median_of(const Hours& hours, std::size_t role) {
    std::vector<double> values;
    for (const auto& hour : hours)
        for (const ChosenSegment& segment : hour.second[role])
            values.push_back(segment.place->value);
    if (values.empty()) return kMissing;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>((values.size() - 1) / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

double distance(const ChosenSegment& segment, double median) {
    return std::abs(segment.place->value - median);
}

const ChosenSegment& nearest(const Candidates& candidates, double median) {
    return *std::min_element(
        candidates.begin(), candidates.end(),
        [&](const auto& p, const auto& q) { return distance(p, median) < distance(q, median); });
}

std::optional<ChosenPair> pair_of(const Hours& hours, const std::string& block) {
    const std::array<double, 2> medians{median_of(hours, 0), median_of(hours, 1)};
    std::optional<ChosenPair> best;
    double least = 0;
    for (const auto& [when, classes] : hours) {
        if (classes[0].empty() || classes[1].empty()) continue;
        const ChosenPair pair{
            block, when.second, {nearest(classes[0], medians[0]), nearest(classes[1], medians[1])}};
        const double far = distance(pair.of[0], medians[0]) + distance(pair.of[1], medians[1]);
        if (best && far >= least) continue;
        best = pair;
        least = far;
    }
    return best;
}

/// By window and block; sites and dates come in order, so that of equal segments the first is the
/// earliest of the first site.
std::map<std::pair<int, std::string>, Hours> candidates_of(const Survey& survey,
                                                           const SegmentGatherer& gathered) {
    std::map<std::pair<int, std::string>, Hours> all;
    for (const auto& [key, places] : gathered.days) {
        const Site& site = survey.sites[key.first];
        const bool first = site.stand == survey.stands.class_a;
        if (!first && site.stand != survey.stands.class_b) continue;
        for (const SegmentPlace& place : places) {
            if (!place.averaged || place.flagged || place.window < 0 || is_missing(place.value))
                continue;
            const int hour = static_cast<int>(place.from_min / 60);
            all[{place.window, site.block}][{key.second, hour}][first ? 0 : 1].push_back(
                {key.first, place.window, ClipRule::median, key.second, &place});
        }
    }
    return all;
}

/// Darkest and brightest level that the pictures would take by themselves, over all of them.
void find_scale(ClipPairs& result, const std::vector<std::array<CutClip, 2>>& cuts) {
    bool first = true;
    for (const auto& both : cuts)
        for (const CutClip& cut : both) {
            SpectrogramPainter painter(cut.rate, static_cast<std::int64_t>(cut.sound.size()),
                                       clip_picture());
            painter.add(cut.sound);
            painter.finish();
            const PlotArea& plot = painter.plot();
            result.floor_db = first ? plot.floor_db : std::min(result.floor_db, plot.floor_db);
            result.ceiling_db =
                first ? plot.ceiling_db : std::max(result.ceiling_db, plot.ceiling_db);
            result.high_hz = first ? cut.rate / 2.0 : std::min(result.high_hz, cut.rate / 2.0);
            first = false;
        }
}

}  // namespace

std::vector<ChosenPair> choose_pairs(const Survey& survey, const SegmentGatherer& gathered,
                                     const std::string& first_window) {
    const auto all = candidates_of(survey, gathered);
    std::vector<std::string> blocks;
    for (const auto& [key, hours] : all)
        if (std::find(blocks.begin(), blocks.end(), key.second) == blocks.end())
            blocks.push_back(key.second);
    std::sort(blocks.begin(), blocks.end());
    std::vector<int> windows;
    for (std::size_t w = 0; w < survey.windows.size(); ++w)
        windows.insert(survey.windows[w].name == first_window ? windows.begin() : windows.end(),
                       static_cast<int>(w));

    std::vector<ChosenPair> pairs;
    for (std::size_t turn = 0; turn < blocks.size(); ++turn)
        for (std::size_t i = 0; i < windows.size() && pairs.size() < kMostPairs; ++i) {
            const std::string& block = blocks[(i + turn) % blocks.size()];
            const auto found = all.find({windows[i], block});
            if (found == all.end()) continue;
            if (auto pair = pair_of(found->second, block)) pairs.push_back(std::move(*pair));
        }
    return pairs;
}

ClipPairs cut_pairs(const Survey& survey, const Store& store, const SegmentGatherer& gathered,
                    const std::string& first_window, const std::filesystem::path& folder) {
    ClipPairs result;
    std::vector<std::array<CutClip, 2>> cuts;
    for (const ChosenPair& chosen : choose_pairs(survey, gathered, first_window)) {
        std::array<CutClip, 2> both{read_clip(survey, store, gathered, chosen.of[0]),
                                    read_clip(survey, store, gathered, chosen.of[1])};
        if (both[0].sound.empty() || both[1].sound.empty()) {
            ++result.unreadable;
            continue;
        }
        cuts.push_back(std::move(both));
        result.pairs.push_back({chosen.block, chosen.hour, {}});
    }
    if (cuts.empty()) return result;
    make_folder(folder / "clips" / "pairs");
    find_scale(result, cuts);
    SpectrogramOptions options = clip_picture();
    options.floor_db = result.floor_db;
    options.ceiling_db = result.ceiling_db;
    options.high_hz = result.high_hz;
    for (std::size_t i = 0; i < cuts.size(); ++i)
        for (std::size_t role = 0; role < 2; ++role) {
            write_clip(cuts[i][role], fmt::format("clips/pairs/{}{}", i + 1, role ? "b" : "a"),
                       options, folder);
            result.pairs[i].clips[role] = std::move(cuts[i][role].clip);
        }
    return result;
}

}  // namespace hearwood

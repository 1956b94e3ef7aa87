#include "listen/sample.h"

#include <catch2/catch.hpp>
#include <map>
#include <set>

using namespace hearwood;

namespace {

/// `sites` sites, two windows, so many kept segments in each; the index rises with the segment.
std::vector<Candidate> candidates(int sites, int per_window, int excluded = 0) {
    std::vector<Candidate> all;
    for (int site = 0; site < sites; ++site)
        for (int i = 0; i < 2 * per_window + excluded; ++i) {
            Candidate c;
            c.recording = site;
            c.segment = i;
            c.site = static_cast<std::size_t>(site);
            c.window = i % 2;
            c.index = i / 2;
            c.kept = i < 2 * per_window;
            if (!c.kept) c.flags.add(Reason::rain);
            all.push_back(c);
        }
    return all;
}

std::set<std::pair<std::int64_t, int>> names_of(const std::vector<DrawnClip>& sample) {
    std::set<std::pair<std::int64_t, int>> names;
    for (const DrawnClip& clip : sample)
        names.insert({clip.segment.recording, clip.segment.segment});
    return names;
}

}  // namespace

TEST_CASE("a sample is as large as asked for and holds no segment twice", "[listen]") {
    const auto all = candidates(5, 30, 10);
    const auto sample = draw_sample(all, 60, 12, 1);
    CHECK(sample.size() == 72);
    CHECK(names_of(sample).size() == 72);
    CHECK(std::count_if(sample.begin(), sample.end(),
                        [](const DrawnClip& c) { return c.third < 0; }) == 12);
    for (const DrawnClip& clip : sample) CHECK(clip.segment.kept == (clip.third >= 0));
}

TEST_CASE("sites get even shares, and each its windows and thirds in turn", "[listen]") {
    const auto sample = draw_sample(candidates(5, 30), 62, 0, 7);
    std::map<std::size_t, int> sites;
    std::map<std::tuple<std::size_t, int, int>, int> strata;
    for (const DrawnClip& clip : sample) {
        ++sites[clip.segment.site];
        ++strata[{clip.segment.site, clip.segment.window, clip.third}];
    }
    for (const auto& [site, count] : sites) CHECK((count == 12 || count == 13));
    for (const auto& [stratum, count] : strata) CHECK((count == 2 || count == 3));
}

TEST_CASE("thirds are the low, middle and high values of their site and window", "[listen]") {
    for (const DrawnClip& clip : draw_sample(candidates(3, 30), 40, 0, 3))
        CHECK(clip.third == static_cast<int>(clip.segment.index) / 10);
}

TEST_CASE("small surveys give what they have", "[listen]") {
    const auto sample = draw_sample(candidates(2, 3), 60, 12, 1);
    CHECK(sample.size() == 12);
    for (const DrawnClip& clip : sample) CHECK(clip.weight == Approx(1));
    CHECK(draw_sample({}, 60, 12, 1).empty());
}

TEST_CASE("the seed decides, and nothing else", "[listen]") {
    const auto all = candidates(4, 20, 5);
    CHECK(names_of(draw_sample(all, 30, 6, 11)) == names_of(draw_sample(all, 30, 6, 11)));
    CHECK(names_of(draw_sample(all, 30, 6, 11)) != names_of(draw_sample(all, 30, 6, 12)));
}

TEST_CASE("weights carry a sample back to all segments", "[listen]") {
    // Horvitz & Thompson: over many draws the weighted sum of anything is its sum over all
    // segments. Windows of unequal size and fewer clips than strata, where a wrong weight would
    // show.
    auto all = candidates(4, 30);
    std::erase_if(all, [](const Candidate& c) { return c.window == 1 && c.index >= 12; });
    double truth = 0, count = 0;
    for (const Candidate& c : all) {
        truth += c.index;
        count += 1;
    }
    double sum = 0, weights = 0;
    const int draws = 3000;
    for (int seed = 0; seed < draws; ++seed)
        for (const DrawnClip& clip : draw_sample(all, 18, 0, static_cast<std::uint64_t>(seed))) {
            sum += clip.weight * clip.segment.index / draws;
            weights += clip.weight / draws;
        }
    CHECK(weights == Approx(count).epsilon(0.01));
    CHECK(sum == Approx(truth).epsilon(0.015));
}

TEST_CASE("excluded segments share their number among the clips drawn of them", "[listen]") {
    double weight = 0;
    for (const DrawnClip& clip : draw_sample(candidates(4, 10, 8), 0, 5, 2)) weight += clip.weight;
    CHECK(weight == Approx(32));
}

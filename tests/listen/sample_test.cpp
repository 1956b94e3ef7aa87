#include "listen/sample.h"

#include <sys/resource.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <map>
#include <set>
#include <tuple>

using namespace hearwood;

namespace {

std::uint64_t name_of(int recording, int segment) {
    return static_cast<std::uint64_t>(recording) * 0x9e3779b97f4a7c15u +
           static_cast<std::uint64_t>(segment) * 0xbf58476d1ce4e5b9u + 1;
}

std::vector<DrawnClip> draw(const std::vector<Candidate>& all, int count, int screened,
                            std::uint64_t seed) {
    return draw_sample(
        [&](const CandidateTaker& take) { std::for_each(all.begin(), all.end(), take); }, count,
        screened, seed);
}

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
            c.name = name_of(site, i);
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
    const auto sample = draw(all, 60, 12, 1);
    CHECK(sample.size() == 72);
    CHECK(names_of(sample).size() == 72);
    CHECK(std::count_if(sample.begin(), sample.end(),
                        [](const DrawnClip& c) { return c.third < 0; }) == 12);
    for (const DrawnClip& clip : sample) CHECK(clip.segment.kept == (clip.third >= 0));
}

TEST_CASE("sites get even shares, and each its windows and thirds in turn", "[listen]") {
    const auto sample = draw(candidates(5, 30), 62, 0, 7);
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
    for (const DrawnClip& clip : draw(candidates(3, 30), 40, 0, 3))
        CHECK(clip.third == static_cast<int>(clip.segment.index) / 10);
}

TEST_CASE("small surveys give what they have", "[listen]") {
    const auto sample = draw(candidates(2, 3), 60, 12, 1);
    CHECK(sample.size() == 12);
    for (const DrawnClip& clip : sample) CHECK(clip.weight == Approx(1));
    CHECK(draw({}, 60, 12, 1).empty());
}

TEST_CASE("the seed decides, and nothing else", "[listen]") {
    const auto all = candidates(4, 20, 5);
    CHECK(names_of(draw(all, 30, 6, 11)) == names_of(draw(all, 30, 6, 11)));
    CHECK(names_of(draw(all, 30, 6, 11)) != names_of(draw(all, 30, 6, 12)));
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
        for (const DrawnClip& clip : draw(all, 18, 0, static_cast<std::uint64_t>(seed))) {
            sum += clip.weight * clip.segment.index / draws;
            weights += clip.weight / draws;
        }
    CHECK(weights == Approx(count).epsilon(0.01));
    CHECK(sum == Approx(truth).epsilon(0.015));
}

TEST_CASE("excluded segments share their number among the clips drawn of them", "[listen]") {
    double weight = 0;
    for (const DrawnClip& clip : draw(candidates(4, 10, 8), 0, 5, 2)) weight += clip.weight;
    CHECK(weight == Approx(32));
}

TEST_CASE("the order in which segments come decides nothing", "[listen]") {
    auto all = candidates(4, 20, 5);
    for (Candidate& c : all) c.index = static_cast<int>(c.index) / 4;  // many equal values
    const auto drawn = [&] {
        std::vector<std::tuple<std::int64_t, int, int, double>> result;
        for (const DrawnClip& clip : draw(all, 30, 6, 3))
            result.emplace_back(clip.segment.recording, clip.segment.segment, clip.third,
                                clip.weight);
        return result;
    };
    const auto before = drawn();
    std::reverse(all.begin(), all.end());
    CHECK(drawn() == before);
    std::rotate(all.begin(), all.begin() + 57, all.end());
    CHECK(drawn() == before);
}

TEST_CASE("a window with few segments leaves its clips to the others, and weights know it",
          "[listen]") {
    // One window of 3 and one of 90 segments at each site: its thirds hold one segment each.
    auto all = candidates(3, 90);
    std::erase_if(all, [](const Candidate& c) { return c.window == 1 && c.index >= 3; });
    double weight = 0, scarce = 0;
    const int draws = 400;
    for (int seed = 0; seed < draws; ++seed)
        for (const DrawnClip& clip : draw(all, 36, 0, static_cast<std::uint64_t>(seed))) {
            weight += clip.weight / draws;
            if (clip.segment.window == 1) scarce += clip.weight / draws;
        }
    CHECK(weight == Approx(3 * 93));
    CHECK(scarce == Approx(3 * 3));
}

TEST_CASE("fewer clips than sites: those that got one stand for the others", "[listen]") {
    double weight = 0;
    const int draws = 2000;
    for (int seed = 0; seed < draws; ++seed)
        for (const DrawnClip& clip : draw(candidates(6, 9), 2, 0, static_cast<std::uint64_t>(seed)))
            weight += clip.weight / draws;
    CHECK(weight == Approx(6 * 18));
}

namespace {

/// Peak memory of this process so far, in MB.
double peak_mb() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return static_cast<double>(usage.ru_maxrss) / 1024;
}

// The thread sanitizer's shadow memory, several times the program's own, counts as the program's.
#if defined(__SANITIZE_THREAD__)
constexpr bool kShadowCounts = true;
#else
constexpr bool kShadowCounts = false;
#endif

}  // namespace

TEST_CASE("a season of segments is drawn from without being held", "[listen]") {
    // 1.2 million segments of 40 sites and 3 windows would take 96 MB.
    constexpr int kSegments = 1'200'000, kSites = 40, kWindows = 3;
    const auto season = [](const CandidateTaker& take) {
        Candidate c;
        for (int i = 0; i < kSegments; ++i) {
            c.recording = c.segment = i;
            c.site = static_cast<std::size_t>(i % kSites);
            c.window = i / kSites % kWindows;
            c.index = static_cast<double>((i * 7919LL) % 100'003);
            c.kept = i % 50 != 0;
            c.name = name_of(i, i);
            take(c);
        }
    };
    const double before = peak_mb();
    const auto sample = draw_sample(season, 360, 12, 1);
    const double taken = peak_mb() - before;
    if (!kShadowCounts) CHECK(taken < 30);
    CHECK(sample.size() == 372);
    // Thirds lie where the thirds of 2,048 segments of each site and window lie: the share below
    // such a limit has a standard deviation of sqrt(2/9 / 2048) = 0.0104; five of them.
    double all = 0, low = 0;
    for (const DrawnClip& clip : sample) {
        if (clip.third < 0) continue;
        all += clip.weight;
        const double limit = 100'003 / 3.0, slack = 5 * 0.0104 * 100'003;
        if (clip.third == 0) {
            low += clip.weight;
            CHECK(clip.segment.index < limit + slack);
        } else {
            CHECK(clip.segment.index > limit - slack);
        }
    }
    CHECK(all == Approx(kSegments * 0.98).epsilon(1e-6));
    CHECK(low / all == Approx(1 / 3.0).margin(0.0104));
}

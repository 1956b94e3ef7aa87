#include "listen/sample.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include "base/error.h"
#include "base/text.h"
#include "contrast/random.h"

namespace hearwood {
namespace {

class CandidateGatherer : public SegmentVisitor {
  public:
    CandidateGatherer(std::size_t index, std::size_t leq) : index_(index), leq_(leq) {}

    void segment(const JudgedSegment& s) override {
        const Reasons flags = s.judgement.flags;
        const double value = s.row->values[index_];
        if (!s.possible() || flags.has(Reason::dead) || flags.has(Reason::clipped)) return;
        if (s.place.part.window < 0 || std::isnan(value)) return;
        found.push_back({s.recording->row.id, s.row->channel, s.row->segment, s.row->first_sample,
                         s.row->samples, s.site, s.place.part.window, value, s.row->values[leq_],
                         s.judgement.kept(), flags});
    }

    std::vector<Candidate> found;

  private:
    std::size_t index_, leq_;
};

template <typename T>
void shuffle(std::vector<T>& things, Random& random) {
    for (std::size_t i = things.size(); i > 1; --i)
        std::swap(things[i - 1], things[random.below(i)]);
}

/// A stratum's segments in random order; drawn from the back.
struct Stratum {
    std::vector<const Candidate*> segments;
    std::size_t size = 0;
    int third = 0;
};

/// Thirds of one site and window by rank, ties in the order of the candidates.
void add_thirds(std::vector<const Candidate*> segments, std::vector<Stratum>& strata,
                Random& random) {
    std::stable_sort(segments.begin(), segments.end(),
                     [](const Candidate* a, const Candidate* b) { return a->index < b->index; });
    for (int third = 0; third < 3; ++third) {
        const std::size_t from = segments.size() * third / 3,
                          to = segments.size() * (third + 1) / 3;
        if (from == to) continue;
        Stratum stratum{{segments.begin() + from, segments.begin() + to}, to - from, third};
        shuffle(stratum.segments, random);
        strata.push_back(std::move(stratum));
    }
}

std::map<std::size_t, std::vector<Stratum>> strata_by_site(const std::vector<Candidate>& candidates,
                                                           Random& random) {
    std::map<std::pair<std::size_t, int>, std::vector<const Candidate*>> groups;
    for (const Candidate& candidate : candidates)
        if (candidate.kept) groups[{candidate.site, candidate.window}].push_back(&candidate);
    std::map<std::size_t, std::vector<Stratum>> sites;
    for (auto& [key, segments] : groups) add_thirds(std::move(segments), sites[key.first], random);
    for (auto& [site, strata] : sites) shuffle(strata, random);
    return sites;
}

/// How many clips each site gets: as even as its segments allow, what is left over by lot.
std::map<std::size_t, int> share_out_clips(const std::map<std::size_t, std::vector<Stratum>>& sites,
                                           int count, Random& random) {
    std::map<std::size_t, int> shares, room;
    std::vector<std::size_t> order;
    for (const auto& [site, strata] : sites) {
        order.push_back(site);
        for (const Stratum& stratum : strata) room[site] += static_cast<int>(stratum.size);
    }
    shuffle(order, random);
    for (bool moved = true; count > 0 && moved;) {
        moved = false;
        for (const std::size_t site : order) {
            if (count == 0 || shares[site] >= room[site]) continue;
            ++shares[site];
            --count;
            moved = true;
        }
    }
    return shares;
}

/// One clip from each stratum in turn until the site has its share. A stratum's expected number of
/// clips is the site's share over its strata (the rotation is random), but never more than it
/// holds.
void draw_site(std::vector<Stratum>& strata, int share, std::vector<DrawnClip>& drawn) {
    const double expected = static_cast<double>(share) / static_cast<double>(strata.size());
    for (std::size_t turn = 0; share > 0; ++turn) {
        Stratum& stratum = strata[turn % strata.size()];
        if (stratum.segments.empty()) continue;
        const double size = static_cast<double>(stratum.size);
        drawn.push_back({*stratum.segments.back(), stratum.third, size / std::min(expected, size)});
        stratum.segments.pop_back();
        --share;
    }
}

void draw_screened(const std::vector<Candidate>& candidates, int count, Random& random,
                   std::vector<DrawnClip>& drawn) {
    std::vector<const Candidate*> excluded;
    for (const Candidate& candidate : candidates)
        if (!candidate.kept) excluded.push_back(&candidate);
    const double all = static_cast<double>(excluded.size());
    shuffle(excluded, random);
    excluded.resize(std::min(excluded.size(), static_cast<std::size_t>(std::max(count, 0))));
    for (const Candidate* candidate : excluded)
        drawn.push_back({*candidate, -1, all / static_cast<double>(excluded.size())});
}

std::size_t place_of(const std::vector<std::string>& columns, const std::string& name) {
    const auto found = std::find(columns.begin(), columns.end(), name);
    if (found != columns.end()) return static_cast<std::size_t>(found - columns.begin());
    const auto near = nearest(name, columns);
    throw InputError("no column '" + name + "' was measured",
                     near ? "did you mean '" + *near + "'?" : "name an index of segments.csv");
}

}  // namespace

std::vector<Candidate> listening_candidates(const Survey& survey, const Store& store,
                                            const std::string& index) {
    const JudgedSegments segments(survey, store);
    CandidateGatherer gatherer(place_of(segments.stored_columns(), index),
                               place_of(segments.stored_columns(), "leq_dbfs"));
    SegmentVisitor* const visitors[] = {&gatherer};
    segments.visit(visitors);
    return std::move(gatherer.found);
}

std::vector<DrawnClip> draw_sample(const std::vector<Candidate>& candidates, int count,
                                   int screened, std::uint64_t seed) {
    Random random(seed, "listening sample");
    auto sites = strata_by_site(candidates, random);
    std::vector<DrawnClip> drawn;
    for (const auto& [site, share] : share_out_clips(sites, count, random))
        draw_site(sites[site], share, drawn);
    draw_screened(candidates, screened, random, drawn);
    return drawn;
}

}  // namespace hearwood

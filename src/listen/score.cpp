#include "listen/score.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "aggregate/judged_segments.h"
#include "aggregate/table_columns.h"
#include "base/missing.h"
#include "statistics/bootstrap.h"
#include "statistics/random.h"
#include "statistics/rank_correlation.h"

namespace hearwood {
namespace {

/// What the store says now of a clip's segment.
struct Measured {
    std::vector<double> values;  ///< of the indices
    Reasons flags;
    std::size_t site = 0;
};
using SegmentName = std::tuple<std::string, int, int>;  // recording, channel, segment

class MeasuredGatherer : public SegmentVisitor {
  public:
    MeasuredGatherer(const std::vector<KeyLine>& key, std::vector<std::size_t> wanted_columns)
        : wanted_columns_(std::move(wanted_columns)) {
        for (const KeyLine& line : key)
            wanted_.insert({line.recording, line.channel, line.segment});
    }
    void segment(const JudgedSegment& s) override {
        const SegmentName name{s.recording->row.path, s.row->channel, s.row->segment};
        if (!wanted_.contains(name)) return;
        Measured& measured = found[name];
        for (const std::size_t column : wanted_columns_)
            measured.values.push_back(s.row->values[column]);
        measured.flags = s.judgement.flags;
        measured.site = s.site;
    }
    std::map<SegmentName, Measured> found;

  private:
    std::set<SegmentName> wanted_;
    std::vector<std::size_t> wanted_columns_;
};

/// A clip with what was heard and what is measured.
struct Clip {
    const HeardClip* heard;
    const Measured* measured;
    bool kept_sample() const { return heard->key->third >= 0; }
    double weight() const { return heard->key->weight; }
};

std::vector<std::string> index_names(const Survey& survey) {
    std::vector<std::string> names;
    for (const TableColumn& column : segment_columns(survey))
        if (column.column.kind == Column::Kind::index) names.push_back(column.stored);
    return names;
}

std::vector<std::size_t> column_numbers(const std::vector<std::string>& columns,
                                        const std::vector<std::string>& names) {
    std::vector<std::size_t> wanted_columns;
    for (const std::string& name : names)
        wanted_columns.push_back(static_cast<std::size_t>(
            std::find(columns.begin(), columns.end(), name) - columns.begin()));
    return wanted_columns;
}

std::vector<std::size_t> sites_of(const std::vector<Clip>& clips) {
    std::vector<std::size_t> sites;
    for (const Clip& clip : clips) sites.push_back(clip.measured->site);
    return sites;
}

ListeningResult follow(const std::string& index, std::size_t column, const std::string& heard,
                       double HeardClip::*member, const std::vector<Clip>& all,
                       std::uint64_t seed) {
    std::vector<Clip> clips;
    for (const Clip& clip : all)
        if (clip.kept_sample() && !is_missing(clip.measured->values[column])) clips.push_back(clip);
    const auto rho = [&](std::span<const std::size_t> chosen) {
        std::vector<double> x, y, w;
        for (const std::size_t i : chosen) {
            x.push_back(clips[i].measured->values[column]);
            y.push_back(clips[i].heard->*member);
            w.push_back(clips[i].weight());
        }
        return weighted_spearman(x, y, w);
    };
    const std::vector<std::size_t> sites = sites_of(clips);
    const Bootstrapped result = bootstrap_sites(sites, seed, rho);
    ListeningResult row;
    row.index = index;
    row.heard = heard;
    row.rho = result.value;
    row.low = result.low;
    row.high = result.high;
    row.clips = static_cast<int>(clips.size());
    row.sites = result.sites;
    row.verdict = is_missing(row.rho) || is_missing(row.low) ? "too few clips"
                  : row.low > 0                              ? "follows"
                  : row.high < 0                             ? "opposite"
                  : row.rho < 0.3                            ? "does not follow"
                                                             : "unclear";
    return row;
}

ScreenRow screen_row(Reason reason, const std::vector<Clip>& clips, std::uint64_t seed) {
    const auto column = static_cast<std::size_t>(
        std::find(kHeard.begin(), kHeard.end(), std::string_view(name_of(reason))) -
        kHeard.begin());
    const auto sums = [&](std::span<const std::size_t> chosen) {
        std::array<double, 3> sum{};  // flagged, heard, both
        for (const std::size_t i : chosen) {
            const bool flagged = clips[i].measured->flags.has(reason),
                       heard = clips[i].heard->heard[column] >= 0.5;
            sum[0] += flagged * clips[i].weight();
            sum[1] += heard * clips[i].weight();
            sum[2] += (flagged && heard) * clips[i].weight();
        }
        return sum;
    };
    const auto share = [](double part, double whole) {
        return whole > 0 ? part / whole : kMissing;
    };
    const std::vector<std::size_t> sites = sites_of(clips);
    Bootstrapped precision = bootstrap_sites(sites, seed, [&](std::span<const std::size_t> chosen) {
        const auto s = sums(chosen);
        return share(s[2], s[0]);
    });
    Bootstrapped recall = bootstrap_sites(sites, seed, [&](std::span<const std::size_t> chosen) {
        const auto s = sums(chosen);
        return share(s[2], s[1]);
    });
    const auto count = [&](auto holds) {
        return static_cast<int>(std::count_if(clips.begin(), clips.end(), holds));
    };
    widen_unanimous(precision, count([&](const Clip& c) { return c.measured->flags.has(reason); }));
    widen_unanimous(recall, count([&](const Clip& c) { return c.heard->heard[column] >= 0.5; }));
    std::vector<std::size_t> every(clips.size());
    for (std::size_t i = 0; i < every.size(); ++i) every[i] = i;
    const auto s = sums(every);
    return {name_of(reason),
            s[0],
            s[1],
            s[2],
            precision.value,
            precision.low,
            precision.high,
            recall.value,
            recall.low,
            recall.high,
            static_cast<int>(clips.size())};
}

/// A site's value: the weighted mean over its clips of kept segments.
void add_site_values(const Survey& survey, const std::string& name, double HeardClip::*member,
                     const std::vector<Clip>& clips, std::vector<SiteValue>& values) {
    std::map<std::size_t, std::pair<double, double>> sums;
    for (const Clip& clip : clips) {
        if (!clip.kept_sample()) continue;
        auto& [sum, weight] = sums[clip.measured->site];
        sum += clip.weight() * (clip.heard->*member);
        weight += clip.weight();
    }
    for (const auto& [site, sum] : sums)
        values.push_back({name,
                          "all",
                          {survey.sites[site].name, survey.sites[site].stand,
                           survey.sites[site].block, sum.first / sum.second}});
}

std::vector<ContrastRow> heard_contrasts(const Survey& survey, const std::vector<Clip>& clips) {
    std::vector<SiteValue> values;
    add_site_values(survey, "heard_fullness", &HeardClip::fullness, clips, values);
    add_site_values(survey, "heard_kinds", &HeardClip::kinds, clips, values);
    add_site_values(survey, "heard_animals", &HeardClip::animals, clips, values);
    ContrastPlan plan;
    plan.class_a = survey.stands.class_a;
    plan.class_b = survey.stands.class_b;
    plan.seed = survey.contrast.seed;
    plan.level = survey.contrast.level;
    plan.listening = "This is the listening check itself.";
    return contrast_table(values, plan);
}

int count_listeners(const std::vector<Answer>& answers) {
    std::set<std::string> names;
    for (const Answer& answer : answers) names.insert(answer.listener);
    return static_cast<int>(names.size());
}

}  // namespace

std::vector<HeardClip> heard_clips(const std::vector<Answer>& answers,
                                   const std::vector<KeyLine>& key) {
    std::map<std::string, const KeyLine*> lines;
    for (const KeyLine& line : key) lines[line.clip] = &line;
    // By clip (repeats under their first name) and listener.
    std::map<std::string, std::map<std::string, std::vector<const Answer*>>> groups;
    for (const Answer& answer : answers) {
        const KeyLine& line = *lines.at(answer.clip);
        groups[line.repeat_of.empty() ? line.clip : line.repeat_of][answer.listener].push_back(
            &answer);
    }
    std::vector<HeardClip> clips;
    for (const auto& [name, listeners] : groups) {
        HeardClip clip;
        clip.key = lines.at(name);
        clip.listeners = static_cast<int>(listeners.size());
        clip.heard.assign(kHeard.size(), 0.0);
        for (const auto& [listener, own] : listeners)
            for (const Answer* answer : own) {
                const double share = 1.0 / static_cast<double>(own.size() * listeners.size());
                clip.kinds += share * answer->kinds;
                clip.fullness += share * answer->fullness;
                clip.animals += share * answer->animals();
                for (std::size_t i = 0; i < kHeard.size(); ++i)
                    clip.heard[i] += share * answer->heard[i];
            }
        clips.push_back(std::move(clip));
    }
    return clips;
}

ListeningScore score_listening(const Survey& survey, const Store& store,
                               const std::vector<Answer>& answers) {
    const std::vector<KeyLine> key = read_key(survey.folder);
    const std::vector<HeardClip> heard = heard_clips(answers, key);
    const std::vector<std::string> indices = index_names(survey);

    const JudgedSegments segments(survey, store);
    MeasuredGatherer gatherer(key, column_numbers(segments.stored_columns(), indices));
    SegmentVisitor* const visitors[] = {&gatherer};
    segments.visit(visitors);

    ListeningScore score;
    std::vector<Clip> clips;
    for (const HeardClip& clip : heard) {
        const auto found =
            gatherer.found.find({clip.key->recording, clip.key->channel, clip.key->segment});
        if (found == gatherer.found.end())
            score.lost.push_back(clip.key->clip);
        else
            clips.push_back({&clip, &found->second});
    }
    const auto people = static_cast<std::size_t>(
        std::find(kHeard.begin(), kHeard.end(), std::string_view("people")) - kHeard.begin());
    for (const HeardClip& clip : heard)
        if (clip.heard[people] > 0) score.voices.push_back(clip.key->clip);
    const std::vector<std::size_t> sites = sites_of(clips);
    score.clips = static_cast<int>(clips.size());
    score.sites = static_cast<int>(std::set<std::size_t>(sites.begin(), sites.end()).size());
    score.listeners = count_listeners(answers);
    score.unanswered =
        static_cast<int>(key.size()) * score.listeners - static_cast<int>(answers.size());
    score.agreement = agreement(answers, key);
    for (std::size_t i = 0; i < indices.size(); ++i) {
        score.follows.push_back(
            follow(indices[i], i, "fullness", &HeardClip::fullness, clips, survey.contrast.seed));
        score.follows.push_back(
            follow(indices[i], i, "kinds", &HeardClip::kinds, clips, survey.contrast.seed));
    }
    for (ListeningResult& row : score.follows) row.listeners = score.listeners;
    for (const Reason reason : {Reason::rain, Reason::wind, Reason::engine})
        score.screens.push_back(screen_row(reason, clips, survey.contrast.seed));
    score.contrasts = heard_contrasts(survey, clips);
    return score;
}

}  // namespace hearwood

#include "listen/teach.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <tuple>

#include "aggregate/judged_segments.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/text.h"
#include "listen/score.h"
#include "statistics/logistic.h"
#include "survey/taught_text.h"

namespace hearwood {
namespace {

constexpr Reason kTaught[] = {Reason::rain, Reason::engine, Reason::wind};
constexpr int kFewestHeard = 8;  ///< clips with it, and clips without
constexpr std::size_t kFewestSites = 3;
constexpr double kRidges[] = {1, 3, 10, 30, 100};

/// A clip that was listened to and whose segment has all quantities.
struct Labelled {
    std::size_t site = 0;
    std::vector<double> quantities;
    Reasons flags;
    std::array<bool, kHeard.size()> heard{};
};

using SegmentName = std::tuple<std::string, int, int>;  // recording, channel, segment

/// Site, quantities and flags of the segments that were heard.
class Gatherer : public SegmentVisitor {
  public:
    Gatherer(std::set<SegmentName> wanted, std::vector<std::size_t> wanted_columns)
        : wanted_(std::move(wanted)), wanted_columns_(std::move(wanted_columns)) {}
    void segment(const JudgedSegment& s) override {
        const SegmentName name{s.recording->row.path, s.row->channel, s.row->segment};
        if (!wanted_.contains(name)) return;
        Labelled& one = found[name];
        one.site = s.site;
        one.flags = s.judgement.flags;
        for (const std::size_t column : wanted_columns_)
            one.quantities.push_back(s.row->values[column]);
    }
    std::map<SegmentName, Labelled> found;

  private:
    std::set<SegmentName> wanted_;
    std::vector<std::size_t> wanted_columns_;
};

std::vector<Labelled> labelled_clips(const Survey& survey, const Store& store,
                                     const std::vector<Answer>& answers) {
    const std::vector<KeyLine> key = read_key(survey.folder);
    const std::vector<HeardClip> heard = heard_clips(answers, key);
    std::set<SegmentName> wanted;
    for (const HeardClip& clip : heard)
        wanted.insert({clip.key->recording, clip.key->channel, clip.key->segment});
    Survey fixed = survey;  // the rules that come with the program, whatever was taught before
    fixed.screen.taught_rain = fixed.screen.taught_engine = fixed.screen.taught_wind = {};
    const JudgedSegments segments(fixed, store);
    const std::vector<std::string>& columns = segments.stored_columns();
    std::vector<std::size_t> wanted_columns;
    for (const char* name : kTaughtQuantities)
        wanted_columns.push_back(static_cast<std::size_t>(
            std::find(columns.begin(), columns.end(), name) - columns.begin()));
    Gatherer gatherer(std::move(wanted), std::move(wanted_columns));
    SegmentVisitor* const visitors[] = {&gatherer};
    segments.visit(visitors);
    std::vector<Labelled> clips;
    for (const HeardClip& clip : heard) {
        const auto found =
            gatherer.found.find({clip.key->recording, clip.key->channel, clip.key->segment});
        if (found == gatherer.found.end()) continue;
        Labelled one = found->second;
        if (std::any_of(one.quantities.begin(), one.quantities.end(), is_missing)) continue;
        for (std::size_t i = 0; i < one.heard.size(); ++i) one.heard[i] = clip.heard[i] >= 0.5;
        clips.push_back(std::move(one));
    }
    return clips;
}

/// Cases of one reason.
struct Cases {
    std::vector<std::vector<double>> rows;
    std::vector<bool> labels;
    std::vector<std::size_t> sites;

    Cases of_site(std::size_t site, bool without) const {
        Cases part;
        for (std::size_t i = 0; i < rows.size(); ++i) {
            if ((sites[i] == site) == without) continue;
            part.rows.push_back(rows[i]);
            part.labels.push_back(labels[i]);
            part.sites.push_back(sites[i]);
        }
        return part;
    }
    bool both() const {
        return std::count(labels.begin(), labels.end(), true) > 0 &&
               std::count(labels.begin(), labels.end(), false) > 0;
    }
    std::set<std::size_t> site_set() const { return {sites.begin(), sites.end()}; }
};

/// Of the labels' probability under rules fitted without each site.
double left_out_likelihood(const Cases& cases, double ridge) {
    double sum = 0;
    for (const std::size_t site : cases.site_set()) {
        const Cases others = cases.of_site(site, true), own = cases.of_site(site, false);
        if (!others.both()) continue;
        const LogisticRule rule = fit_logistic(others.rows, others.labels, ridge);
        for (std::size_t i = 0; i < own.rows.size(); ++i) {
            const double score = rule.score(own.rows[i]);
            sum -= std::log1p(std::exp(own.labels[i] ? -score : score));
        }
    }
    return sum;
}

/// With the ridge under which the sites left out are told best.
LogisticRule fitted(const Cases& cases) {
    double best = kRidges[0], most = -std::numeric_limits<double>::infinity();
    for (const double ridge : kRidges) {
        const double likelihood = left_out_likelihood(cases, ridge);
        if (likelihood <= most) continue;
        most = likelihood;
        best = ridge;
    }
    return fit_logistic(cases.rows, cases.labels, best);
}

PrecisionAndRecall measured(const std::vector<bool>& flagged, const std::vector<bool>& heard) {
    int flags = 0, labels = 0, both = 0;
    for (std::size_t i = 0; i < flagged.size(); ++i) {
        flags += flagged[i];
        labels += heard[i];
        both += flagged[i] && heard[i];
    }
    const auto share = [](int part, int whole) {
        return whole > 0 ? static_cast<double>(part) / whole : kMissing;
    };
    return {share(both, flags), share(both, labels)};
}

/// What rules that were fitted without each site's clips say of them.
std::vector<bool> flagged_left_out(const Cases& cases) {
    std::map<std::size_t, std::optional<LogisticRule>> rules;
    for (const std::size_t site : cases.site_set()) {
        const Cases others = cases.of_site(site, true);
        if (others.both()) rules[site] = fitted(others);
    }
    std::vector<bool> flagged;
    for (std::size_t i = 0; i < cases.rows.size(); ++i) {
        const auto& rule = rules[cases.sites[i]];
        flagged.push_back(rule && rule->score(cases.rows[i]) > 0);
    }
    return flagged;
}

TaughtScreen teach_one(Reason reason, const std::vector<Labelled>& clips) {
    const auto column = static_cast<std::size_t>(
        std::find(kHeard.begin(), kHeard.end(), std::string_view(name_of(reason))) -
        kHeard.begin());
    TaughtScreen screen;
    screen.reason = reason;
    Cases cases;
    std::vector<bool> fixed;
    for (const Labelled& clip : clips) {
        cases.rows.push_back(clip.quantities);
        cases.labels.push_back(clip.heard[column]);
        cases.sites.push_back(clip.site);
        fixed.push_back(clip.flags.has(reason));
        screen.heard += clip.heard[column];
    }
    screen.clips = static_cast<int>(clips.size());
    screen.sites = static_cast<int>(cases.site_set().size());
    screen.fixed = measured(fixed, cases.labels);
    if (screen.heard < kFewestHeard || screen.clips - screen.heard < kFewestHeard)
        screen.why = fmt::format("fewer than {} clips {} it", kFewestHeard,
                                 screen.heard < kFewestHeard ? "have" : "lack");
    else if (cases.site_set().size() < kFewestSites)
        screen.why = fmt::format("clips of fewer than {} sites", kFewestSites);
    if (!screen.why.empty()) return screen;
    screen.taught = measured(flagged_left_out(cases), cases.labels);
    const LogisticRule rule = fitted(cases);
    screen.rule.emplace();
    screen.rule->constant = rule.constant;
    for (std::size_t k = 0; k < rule.weights.size(); ++k) screen.rule->weights[k] = rule.weights[k];
    return screen;
}

std::string share_text(double value) {
    return right(is_missing(value) ? "-" : fmt::format("{:.2f}", value), 8);
}

}  // namespace

double PrecisionAndRecall::f() const {
    if (is_missing(precision) || is_missing(recall)) return recall == 0 ? 0 : kMissing;
    return precision + recall > 0 ? 2 * precision * recall / (precision + recall) : 0;
}

std::vector<TaughtScreen> teach_screens(const Survey& survey, const Store& store,
                                        const std::vector<Answer>& answers) {
    const std::vector<Labelled> clips = labelled_clips(survey, store, answers);
    if (static_cast<int>(clips.size()) < kFewestTaughtClips)
        throw InputError(
            fmt::format("{} of clips that were listened to; a rule is taught from {} on",
                        counted(clips.size(), "answer"), kFewestTaughtClips),
            "listen to more clips, or draw more with --clips");
    std::vector<TaughtScreen> screens;
    for (const Reason reason : kTaught) screens.push_back(teach_one(reason, clips));
    return screens;
}

std::string taught_summary(const std::vector<TaughtScreen>& screens) {
    std::string text = fmt::format(
        "{} {} from {}; taught: each site judged by a rule fitted to the others\n{}{}\n",
        counted(static_cast<std::size_t>(screens.front().clips), "clip"), "of segments",
        counted(static_cast<std::size_t>(screens.front().sites), "site"),
        left("", 24) + "fixed rule              ", "taught rule");
    const std::string three = right("prec.", 8) + right("recall", 8) + right("F", 8);
    text += left("screen", 8) + right("heard in", 10) + three + three + "\n";
    for (const TaughtScreen& screen : screens) {
        text += left(name_of(screen.reason), 8) + right(std::to_string(screen.heard), 10);
        for (const PrecisionAndRecall& one : {screen.fixed, screen.taught})
            text += share_text(one.precision) + share_text(one.recall) + share_text(one.f());
        text += "\n";
        if (!screen.why.empty()) text += wrapped("  not taught: " + screen.why, 4);
    }
    return text;
}

void keep_taught_rules(const Survey& survey, const std::vector<TaughtScreen>& screens,
                       const std::string& date) {
    std::vector<NamedTaughtRule> rules;
    for (const TaughtScreen& screen : screens) {
        if (!screen.rule) continue;
        rules.push_back({name_of(screen.reason), *screen.rule});
        rules.back().rule.date = date;
    }
    const std::filesystem::path path = survey.folder / "survey.toml";
    write_whole_file(path, with_taught_rules(read_whole_file(path), rules));
}

}  // namespace hearwood

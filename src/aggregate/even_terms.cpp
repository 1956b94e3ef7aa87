#include "aggregate/even_terms.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "base/sha256.h"
#include "base/text.h"
#include "statistics/quantile.h"
#include "survey/too_loud.h"

namespace hearwood {
namespace {

constexpr double kNone = -std::numeric_limits<double>::infinity();
constexpr double kTooLoudShare = 1.0 / 3;

double power(double db) {
    return std::isinf(db) ? 0 : std::pow(10, db / 10);
}

bool compared(const Survey& survey, std::size_t site) {
    const std::string& stand = survey.sites[site].stand;
    return stand == survey.stands.class_a || stand == survey.stands.class_b;
}

/// Deployments with kept segments at the sites compared.
std::set<std::size_t> deployments_of(const Survey& survey, const SiteSounds& sounds) {
    std::set<std::size_t> deployments;
    for (const auto& [place, parts] : sounds.backgrounds)
        if (compared(survey, place.site))
            for (const auto& [deployment, levels] : parts) deployments.insert(deployment);
    return deployments;
}

/// Sound pressure where all are calibrated; else the gain's part taken off where all have it.
void level(const Survey& survey, const std::set<std::size_t>& deployments, EvenTerms& terms) {
    const auto all = [&](auto member) {
        return std::all_of(deployments.begin(), deployments.end(), [&](std::size_t d) {
            return (survey.deployments[d].*member).has_value();
        });
    };
    terms.levels = all(&Deployment::full_scale_db_spl) ? EvenTerms::Levels::sound_pressure
                   : all(&Deployment::gain_db)         ? EvenTerms::Levels::less_gain
                                                       : EvenTerms::Levels::as_recorded;
    terms.offset_db.assign(survey.deployments.size(), 0);
    for (const std::size_t d : deployments) {
        if (terms.levels == EvenTerms::Levels::sound_pressure)
            terms.offset_db[d] = *survey.deployments[d].full_scale_db_spl;
        if (terms.levels == EvenTerms::Levels::less_gain)
            terms.offset_db[d] = -*survey.deployments[d].gain_db;
    }
}

/// A site far above the others in many bands would set the floor for all; a decision may want it
/// so.
void find_too_loud(const Survey& survey, EvenWindow& window) {
    std::vector<int> loud(window.sites.size());
    const std::size_t bands = window.sites.front().background_db.size();
    for (std::size_t band = 0; band < bands; ++band) {
        std::vector<double> levels;
        for (const EvenSite& site : window.sites) levels.push_back(site.background_db[band]);
        const double middle = median(levels);
        for (std::size_t i = 0; i < loud.size(); ++i)
            loud[i] += levels[i] > middle + survey.activity.too_loud_db;
    }
    for (std::size_t i = 0; i < loud.size(); ++i)
        window.sites[i].too_loud = loud[i] > kTooLoudShare * static_cast<double>(bands) &&
                                   !kept_though_loud(survey, window.sites[i].site);
}

/// The paths of the sites compared; says what is lacking where there are none.
std::string find_paths(const Survey& survey, const KeptTrials& trials, double sample_rate,
                       EvenWindow& window) {
    std::vector<EvenSite*> sites;
    std::vector<std::size_t> places;
    for (EvenSite& site : window.sites) {
        if (site.too_loud) continue;
        sites.push_back(&site);
        places.push_back(site.site);
    }
    std::string lacks;
    const auto curves = path_curves(survey, trials.losses, places, sample_rate, lacks);
    if (!curves) return lacks;
    for (std::size_t i = 0; i < sites.size(); ++i) sites[i]->path = (*curves)[i];
    return {};
}

/// A site's background behind the path of the densest stand, per band.
std::vector<double> heard_db(const EvenWindow& window, const EvenSite& site) {
    std::vector<double> heard = site.background_db;
    for (std::size_t band = 0; band < heard.size(); ++band)
        heard[band] -= window.weakening_db(
            site, (static_cast<double>(band) + 0.5) * EventGrid::kBackgroundBandHz);
    return heard;
}

void find_floor(EvenWindow& window, double raised_db) {
    const std::size_t bands = window.sites.front().background_db.size();
    window.floor_db.assign(bands, kNone);
    window.loudest.assign(bands, window.sites.front().site);
    for (const EvenSite& site : window.sites) {
        if (site.too_loud) continue;
        const std::vector<double> heard = heard_db(window, site);
        for (std::size_t band = 0; band < bands; ++band) {
            if (heard[band] <= window.floor_db[band]) continue;
            window.floor_db[band] = heard[band];
            window.loudest[band] = site.site;
        }
    }
    for (double& floor : window.floor_db) floor += raised_db;
    for (EvenSite& site : window.sites) {
        if (site.too_loud) continue;
        const std::vector<double> heard = heard_db(window, site);
        for (std::size_t band = 0; band < bands; ++band) {
            const double lacking = power(window.floor_db[band]) - power(heard[band]);
            site.noise_db.push_back(lacking > 0 ? 10 * std::log10(lacking) : kNone);
        }
    }
}

void find_choirs(EvenWindow& window, const SiteSounds& sounds, double share) {
    for (const EvenSite& site : window.sites) {
        const auto found = sounds.choirs.find({site.site, window.window});
        if (site.too_loud || found == sounds.choirs.end()) continue;
        const EventBands bands = found->second.choirs(share);
        window.choirs |= bands;
        for (std::size_t band = 0; band < bands.size(); ++band)
            window.choir_sites[band] += bands[band];
    }
}

/// The sentence on the path, from what each window lacks.
std::string path_in_words(const KeptTrials& trials, const std::vector<std::string>& lacks) {
    const auto lacking = std::find_if(lacks.begin(), lacks.end(),
                                      [](const std::string& what) { return !what.empty(); });
    if (lacking == lacks.end()) return "path measured: sound is heard through the densest stand";
    constexpr const char* kNot = "not separable from how far sound carries: see trial";
    if (trials.state == KeptTrials::State::none) return kNot;
    return fmt::format("{} ({})", kNot,
                       trials.state == KeptTrials::State::old
                           ? "what is kept of the trials is old: run hearwood trial again"
                           : *lacking);
}

std::vector<EvenWindow> windows_of(const Survey& survey, const SiteSounds& sounds,
                                   const KeptTrials& trials, const EvenVariant& variant,
                                   EvenTerms& terms) {
    std::vector<EvenWindow> windows;
    std::vector<std::string> lacks;
    for (int w = 0; w < static_cast<int>(survey.windows.size()); ++w) {
        EvenWindow window;
        window.window = w;
        std::size_t bands = 0;
        for (std::size_t s = 0; s < survey.sites.size(); ++s) {
            const auto found = sounds.backgrounds.find({s, w});
            if (found == sounds.backgrounds.end() || !compared(survey, s)) continue;
            std::vector<std::pair<const BackgroundLevels*, double>> parts;
            for (const auto& [deployment, levels] : found->second)
                parts.emplace_back(&levels, terms.offset_db[deployment]);
            EvenSite site;
            site.site = s;
            site.background_db = BackgroundLevels::medians(parts);
            bands = std::max(bands, site.background_db.size());
            window.sites.push_back(std::move(site));
        }
        if (window.sites.size() < 2) continue;
        for (EvenSite& site : window.sites) site.background_db.resize(bands, kNone);
        find_too_loud(survey, window);
        lacks.push_back(find_paths(survey, trials, terms.sample_rate, window));
        find_floor(window, variant.raised_db);
        find_choirs(window, sounds, variant.choir_share);
        windows.push_back(std::move(window));
    }
    if (!windows.empty()) terms.path = path_in_words(trials, lacks);
    return windows;
}

}  // namespace

std::vector<Column> even_columns(const MeasureSettings& settings) {
    std::vector<Column> columns;
    for (Column column : index_columns(settings)) {
        if (std::find(kEvenIndices.begin(), kEvenIndices.end(), column.name) == kEvenIndices.end())
            continue;
        column.meaning = column.name +
                         " when every site compared is heard through the same noise "
                         "and without the choirs of any: " +
                         column.meaning;
        column.name = "even_" + column.name;
        column.title += ", on even terms";
        column.depends_on_gain = false;
        columns.push_back(std::move(column));
    }
    return columns;
}

const EvenSite* EvenWindow::find(std::size_t site) const {
    const auto found =
        std::find_if(sites.begin(), sites.end(), [&](const EvenSite& s) { return s.site == site; });
    return found == sites.end() ? nullptr : &*found;
}

double EvenWindow::weakening_db(const EvenSite& site, double hz) const {
    if (!site.path) return 0;
    double most = -std::numeric_limits<double>::infinity();
    for (const EvenSite& other : sites)
        if (other.path) most = std::max(most, other.path->at(hz));
    return most - site.path->at(hz);
}

std::optional<EvenTerms::Place> EvenTerms::find(const JudgedSegment& segment) const {
    if (!segment.averaged()) return std::nullopt;
    for (const EvenWindow& window : windows) {
        if (window.window != segment.place.part.window) continue;
        const EvenSite* site = window.find(segment.site);
        if (site && !site->too_loud) return Place{&window, site};
    }
    return std::nullopt;
}

std::int64_t EvenTerms::fingerprint(const Place& place, std::size_t deployment) const {
    std::string text = fmt::format("{}\n{}\n{}\n{}\n", basis, site_names[place.site->site],
                                   window_names[static_cast<std::size_t>(place.window->window)],
                                   place.window->choirs.to_string());
    for (const double db : place.site->noise_db)
        text += format_number(db - offset_db[deployment]) + "\n";
    if (place.site->path)  // the densest of the window's stands sets how much is taken off
        for (const EvenSite& site : place.window->sites)
            if (site.path)
                for (const auto& [hz, db] : site.path->points)
                    text += fmt::format("{} {} {}\n", site_names[site.site], format_number(hz),
                                        format_number(db));
    return static_cast<std::int64_t>(std::stoull(sha256_of(text).substr(0, 15), nullptr, 16));
}

EvenTerms even_terms(const Survey& survey, const SiteSounds& sounds,
                     const std::string& settings_hash, const KeptTrials& trials) {
    return varied_terms(survey, sounds, settings_hash, trials, {0, survey.activity.choir_share});
}

EvenTerms varied_terms(const Survey& survey, const SiteSounds& sounds,
                       const std::string& settings_hash, const KeptTrials& trials,
                       const EvenVariant& variant) {
    EvenTerms terms;
    terms.basis = fmt::format("even {}\n{}\n{}", kEvenVersion, settings_hash, survey.contrast.seed);
    for (const Site& site : survey.sites) terms.site_names.push_back(site.name);
    for (const Window& window : survey.windows) terms.window_names.push_back(window.name);
    level(survey, deployments_of(survey, sounds), terms);
    std::set<int> rates;
    for (const auto& [site, of_site] : sounds.rates)
        if (compared(survey, site)) rates.insert(of_site.begin(), of_site.end());
    if (rates.size() > 1) {
        terms.impossible = "the sites compared were recorded at different sample rates";
        return terms;
    }
    if (!rates.empty()) terms.sample_rate = *rates.begin();
    terms.windows = windows_of(survey, sounds, trials, variant, terms);
    if (terms.windows.empty())
        terms.impossible =
            "fewer than two sites of the classes compared have kept segments in the "
            "same window";
    return terms;
}

const char* in_words(EvenTerms::Levels levels) {
    switch (levels) {
        case EvenTerms::Levels::sound_pressure:
            return "levels are sound pressure, for every recorder is calibrated";
        case EvenTerms::Levels::less_gain:
            return "levels are dBFS minus gain_db";
        case EvenTerms::Levels::as_recorded:
            return "levels are as recorded: gain_db is not known of every recorder, and unequal "
                   "gains would pass for unequal noise";
    }
    return "";
}

std::string beside_even_values(const EvenTerms& terms) {
    if (!terms.impossible.empty()) return {};
    std::string text = "On even terms: " + terms.path + ".";
    if (terms.levels == EvenTerms::Levels::as_recorded)
        text += fmt::format(" There {}.", in_words(terms.levels));
    if (EventGrid(terms.sample_rate).bins().count() == 0)
        text += fmt::format(
            " At {} samples a second sound events are not counted, and even_events is missing: "
            "that needs 21,000.",
            format_number(terms.sample_rate));
    return text;
}

}  // namespace hearwood

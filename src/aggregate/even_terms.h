// Even terms: what has to be added to every site's sound so that all are heard through the same
// noise, and which bands have to be left out since a choir fills them somewhere (docs/even.md).
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "aggregate/choirs.h"
#include "aggregate/site_sounds.h"
#include "aggregate/sound_path.h"
#include "index/catalogue.h"
#include "survey/survey.h"

namespace hearwood {

/// Raised whenever a change of the program changes any even value.
inline constexpr int kEvenVersion = 1;

/// The indices that are measured on even terms, in the order of their values.
inline constexpr std::array kEvenIndices{"aci", "ndsi", "bi", "standout", "events"};
using EvenValues = std::array<double, kEvenIndices.size()>;
/// even_aci .. even_events as columns of the tables.
std::vector<Column> even_columns(const MeasureSettings& settings);

struct EvenSite {
    std::size_t site = 0;  ///< into Survey::sites
    /// Median over the kept segments, per band of 250 Hz: dB of A^2, levelled as EvenTerms says.
    std::vector<double> background_db;
    bool too_loud = false;
    /// Background of the noise that it gets, levelled; -infinity for none. Empty when too loud.
    std::vector<double> noise_db;
    /// What its stand takes off; only where the trials tell it of all sites compared.
    std::optional<PathCurve> path;
};

/// The comparison in one window.
struct EvenWindow {
    int window = 0;                    ///< into Survey::windows
    std::vector<EvenSite> sites;       ///< of the two classes, with kept segments there
    std::vector<double> floor_db;      ///< per band; empty when there is nothing to compare
    std::vector<std::size_t> loudest;  ///< per band: the site that sets the floor
    EventBands choirs;                 ///< choirs of any of the sites compared
    std::array<int, kEventBands> choir_sites{};  ///< at how many

    const EvenSite* find(std::size_t site) const;
    /// How much a site's sound is weakened for all to be heard through the densest stand, dB.
    double weakening_db(const EvenSite& site, double hz) const;
};

struct EvenTerms {
    /// What levels are held against each other.
    enum class Levels {
        sound_pressure,  ///< dB SPL: every deployment is calibrated
        less_gain,       ///< dBFS minus gain_db: every deployment has it
        as_recorded,     ///< dBFS: gains are unknown, at some sites at least
    };
    Levels levels = Levels::as_recorded;
    double sample_rate = 0;         ///< of all sites
    std::vector<double> offset_db;  ///< per deployment: levelled minus recorded
    std::vector<EvenWindow> windows;
    std::string impossible;  ///< why nothing can be compared on even terms; empty when it can
    /// Whether the path is evened too, as a sentence; empty with `impossible`.
    std::string path;

    /// The comparison that a segment's values belong to; nothing when its site is not compared in
    /// its window, or too loud there.
    struct Place {
        const EvenWindow* window;
        const EvenSite* site;
    };
    std::optional<Place> find(const JudgedSegment& segment) const;
    /// Names everything that an even value of a segment depends on, but for its sound: values kept
    /// under another fingerprint are old.
    std::int64_t fingerprint(const Place& place, std::size_t deployment) const;

    std::string basis;  ///< of the fingerprints: settings, seed, names of sites and windows
    std::vector<std::string> site_names, window_names;
};

/// What the survey's settings and the kept segments' sounds ask for. `settings_hash` is that of the
/// measured results.
EvenTerms even_terms(const Survey& survey, const SiteSounds& sounds,
                     const std::string& settings_hash, const KeptTrials& trials = {});

/// "levels are dBFS minus gain_db" ...
const char* in_words(EvenTerms::Levels levels);
/// What has to be said beside every value on even terms: levels that are not known to be alike, and
/// the path. Empty where nothing can be compared.
std::string beside_even_values(const EvenTerms& terms);

struct EvenVariant {
    double raised_db = 0;  ///< how far above the loudest background all are heard
    double choir_share = 0;
};

/// even_terms() with a variant's floor and choirs in the place of the survey's own.
EvenTerms varied_terms(const Survey& survey, const SiteSounds& sounds,
                       const std::string& settings_hash, const KeptTrials& trials,
                       const EvenVariant& variant);

}  // namespace hearwood

// Does a contrast survive other reasonable settings? Every combination of the levels of some
// factors (frame, overlap, bands ...) is one setting; level 0 of every factor is what the survey
// declares.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

struct Factor {
    std::string name;                 ///< "frame"
    std::vector<std::string> levels;  ///< "512 samples", the declared one first
};

/// What the factors of this program mean, for the table's columns; every factor must be here.
struct FactorMeaning {
    const char *name, *meaning;
};
inline constexpr FactorMeaning kFactorMeanings[] = {
    {"frame", "frame length"},
    {"overlap", "overlap of neighbouring frames"},
    {"noise", "how far above the loudest background every site is heard"},
    {"choir share", "in what share of the seconds a band is a choir's"},
    {"bands", "edges of the bands and of the analysis range"},
    {"rain screen", "how segments with rain were left out"},
    {"window", "when the window begins and ends"},
    {"average", "how the segments of a date were averaged"},
};

/// The contrast under one setting.
struct SettingRow {
    std::vector<int> levels;  ///< one of each factor
    ContrastRow result;       ///< p_adjusted is p: each setting stands for the same one outcome
    bool same_sign = false;   ///< as the declared setting
    bool same_significance = false;
};

/// The contrast with one site left out, or as if one decision about the data had not been made,
/// under the declared setting.
struct WithoutSite {
    std::string site;  ///< or the decision, in short
    SettingRow row;
    bool decision = false;
};

struct Robustness {
    std::string index, window;
    std::vector<Factor> factors;
    std::vector<SettingRow>
        grid;  ///< all combinations, the last factor fastest; the declared one first
    std::vector<WithoutSite> without;
};

/// Fills same_sign and same_significance from the grid's first row. Factors whose levels change no
/// result at all (bands, for an index that reads none) are taken out with their rows; returns their
/// names.
std::vector<std::string> judge_settings(Robustness& robustness);

/// Shares of the grid's tested rows.
struct Agreement {
    int tested = 0, same_sign = 0;
    int same_both = 0;  ///< in sign, and in whether a difference is shown
    int decidable = 0;  ///< in which a difference could be shown at all (p_min reaches 1 - level)
};
Agreement agreement(const Robustness& robustness);

/// How much a factor moves the estimate: mean, over the combinations of the others, of the range of
/// Hedges' g over its levels. Parallel to the factors; NaN without any.
std::vector<double> influence(const Robustness& robustness);

/// "648 of 720 settings agree with the declared one in sign, 640 in sign and in showing a
/// difference"; where no setting could show one, that is said instead. No full stop.
std::string agreement_in_words(const Robustness& robustness);

/// Sentences: shares, the factor that matters most, the sites without which the result turns.
std::string robustness_in_words(const Robustness& robustness);

/// For the terminal, 80 columns: one choice changed at a time, then each site left out.
std::string settings_text(const Robustness& robustness);

/// A row of robustness.csv and robustness_grid.csv.
struct RobustnessRow {
    std::string choice, variant;  ///< of robustness.csv: what was changed, and to what
    const SettingRow* setting = nullptr;
};
/// The declared setting, then one choice changed at a time, then each site left out; they point
/// into `robustness`.
std::vector<RobustnessRow> robustness_rows(const Robustness& robustness);
TableOf<RobustnessRow> robustness_table();
/// A column for each factor, then the result. Errors: std::logic_error for a factor without a
/// meaning.
TableOf<RobustnessRow> robustness_grid_table(std::span<const Factor> factors);
std::string robustness_csv(const Robustness& robustness);
std::string robustness_grid_csv(const Robustness& robustness);

/// Estimates and intervals of all settings, sorted, with a mark for the level of each factor below:
/// an SVG picture. Drawn in pooled standard deviations, so that settings with other units compare.
std::string robustness_svg(const Robustness& robustness);

}  // namespace hearwood

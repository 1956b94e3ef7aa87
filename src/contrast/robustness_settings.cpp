#include "contrast/robustness_settings.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "activity/even_grid.h"
#include "aggregate/grid_averager.h"
#include "aggregate/site_values.h"
#include "base/file.h"
#include "base/text.h"
#include "contrast/contrast_inputs.h"
#include "contrast/kept_results.h"
#include "index/catalogue.h"
#include "survey/windows.h"

namespace hearwood {

namespace {

constexpr int kShiftMinutes = 30;
constexpr double kBandFactors[] = {1, 0.8, 1.25};
constexpr double kRaisedDb[] = {0, 3, 6};
constexpr double kStrictRain = 1;  ///< taken off the rain score's threshold

void add_once(std::vector<double>& values, double value) {
    if (std::find(values.begin(), values.end(), value) == values.end()) values.push_back(value);
}

Band shifted(Band band, double factor) {
    band.low_hz *= factor;
    band.high_hz *= factor;
    return band;
}

void shift_bands(MeasureSettings& settings, double factor) {
    settings.range_low_hz *= factor;
    settings.anthrophony = shifted(settings.anthrophony, factor);
    settings.biophony = shifted(settings.biophony, factor);
    for (Band& band : settings.bands) band = shifted(band, factor);
}

/// Frames, overlaps and bands around the survey's own, all combinations.
void plan_measured(const MeasureSettings& own, SettingsPlan& plan) {
    std::vector<double> frames{static_cast<double>(own.frame)};
    for (const double frame : {256.0, 512.0, 1024.0, 2048.0}) add_once(frames, frame);
    std::vector<double> hops{static_cast<double>(own.hop) / own.frame};
    for (const double hop : {1.0, 0.5}) add_once(hops, hop);
    plan.measured = {{"frame", {}},
                     {"overlap", {}},
                     {"bands", {"as declared", "a fifth lower", "a quarter higher"}}};
    for (const double frame : frames)
        plan.measured[0].levels.push_back(format_number(frame) + " samples");
    for (const double hop : hops)
        plan.measured[1].levels.push_back(
            hop == 1 ? "none" : fmt::format("{:.3g} % of a frame", 100 * (1 - hop)));
    for (const double frame : frames)
        for (const double hop : hops)
            for (const double factor : kBandFactors) {
                MeasureSettings settings = own;
                settings.frame = static_cast<int>(frame);
                settings.hop = std::max(1, static_cast<int>(std::lround(frame * hop)));
                shift_bands(settings, factor);
                plan.grid.settings.push_back(settings);
            }
}

/// Noise, choirs and bands around the survey's own, all combinations.
void plan_even(const Survey& survey, SettingsPlan& plan) {
    std::vector<double> shares{survey.activity.choir_share};
    for (const double share : {0.2, 0.25, 0.3}) add_once(shares, share);
    plan.measured = {{"noise", {}},
                     {"choir share", {}},
                     {"bands", {"as declared", "a fifth lower", "a quarter higher"}}};
    for (const double raised : kRaisedDb)
        plan.measured[0].levels.push_back(raised == 0 ? "as the loudest"
                                                      : format_number(raised) + " dB above");
    for (const double share : shares) plan.measured[1].levels.push_back(format_number(share));
    for (const double raised : kRaisedDb)
        for (const double share : shares)
            for (const double factor : kBandFactors) {
                plan.even.push_back({raised, share});
                plan.grid.settings.push_back(survey.measure);
                shift_bands(plan.grid.settings.back(), factor);
            }
}

bool on_even_terms(const Survey& survey, const std::string& index) {
    const std::vector<Column> columns = even_columns(survey.measure);
    return std::any_of(columns.begin(), columns.end(),
                       [&](const Column& column) { return column.name == index; });
}

Window moved(Window window, int from, int to) {
    const auto move = [](WindowEdge& edge, int minutes) {
        edge.minutes += minutes;
        if (edge.anchor == WindowEdge::Anchor::clock) edge.minutes = (edge.minutes + 1440) % 1440;
    };
    move(window.from, from);
    move(window.to, to);
    return window;
}

void plan_chosen(const Survey& survey, const Window& window, SettingsPlan& plan) {
    const bool excludes = survey.screen.rain_excludes;
    plan.chosen = {
        {"rain screen", {"as declared", excludes ? "off" : "on", "strict"}},
        {"window",
         {"as declared", "30 min earlier", "30 min later", "30 min shorter at both ends",
          "30 min longer at both ends"}},
        {"average",
         {"adjusted for dates and times", "plain mean over dates",
          "only quarters of an hour that every site has", "median over a date's segments"}}};
    plan.screens = {survey, survey, survey};
    plan.screens[1].screen.rain_excludes = !excludes;
    plan.screens[2].screen.rain_excludes = true;
    plan.screens[2].screen.rain_score -= kStrictRain;
    constexpr int m = kShiftMinutes;
    // The last of them holds all others.
    plan.windows = {window, moved(window, -m, -m), moved(window, m, m), moved(window, m, -m),
                    moved(window, -m, m)};
}

const Window& window_called(const Survey& survey, const std::string& name) {
    if (const auto place = window_named(survey.windows, name)) return survey.windows[*place];
    throw InputError("no window is called '" + printable(name) + "'",
                     "name one of [windows] as [contrast].primary in survey.toml");
}

/// The contrast of one set of site values.
class Tester {
  public:
    Tester(const Survey& survey, const SettingsPlan& plan)
        : survey_(survey), contrast_(contrast_plan(survey)) {
        contrast_.primary_index = plan.index;
        contrast_.primary_window = plan.window;
    }

    /// `without`: a site to leave out; -1 for none.
    ContrastRow row(const std::vector<double>& values, int without) const {
        std::vector<Unit> units;
        for (std::size_t s = 0; s < survey_.sites.size(); ++s) {
            const Site& site = survey_.sites[s];
            if (static_cast<int>(s) != without)
                units.push_back({site.name, site.stand, site.block, values[s]});
        }
        ContrastRow result = contrast_units(units, contrast_);
        result.role = Role::primary;
        result.p_adjusted = result.p;
        return result;
    }

  private:
    const Survey& survey_;
    ContrastPlan contrast_;
};

/// Levels of combination number `number`, the last factor fastest.
std::vector<int> levels_of(std::size_t number, const std::vector<Factor>& factors) {
    std::vector<int> levels(factors.size());
    for (std::size_t f = factors.size(); f-- > 0;) {
        levels[f] = static_cast<int>(number % factors[f].levels.size());
        number /= factors[f].levels.size();
    }
    return levels;
}

GridSummary measure_variants(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                             Store& grid, int jobs, bool quiet) {
    if (plan.even.empty()) return measure_grid(survey, measured, grid, plan.grid, jobs, quiet);
    const EvenGrid even{plan.index, plan.window, plan.even, plan.grid.settings,
                        widest_choices(survey, plan)};
    return measure_even_grid(survey, measured, grid, even, jobs, quiet);
}

}  // namespace

SettingsPlan plan_settings(const Survey& survey) {
    SettingsPlan plan;
    plan.index = survey.contrast.primary_index;
    plan.window = survey.contrast.primary_window;
    if (plan.index.empty()) {
        plan.index = index_columns(survey.measure).front().name;
        plan.window = survey.windows.front().name;
    }
    plan.grid.index = plan.index;
    if (on_even_terms(survey, plan.index))
        plan_even(survey, plan);
    else
        plan_measured(survey.measure, plan);
    plan_chosen(survey, window_called(survey, plan.window), plan);
    return plan;
}

std::vector<Survey> widest_choices(const Survey& survey, const SettingsPlan& plan) {
    std::vector<Survey> choices{survey};
    for (std::size_t i = 0; i < survey.decisions.size(); ++i)
        if (survey.decisions[i].kind != Decision::Kind::sample_rate)
            choices.push_back(without_decision(survey, i));
    for (Survey& choice : choices)
        for (Window& window : choice.windows)
            if (window.name == plan.window) window = plan.windows.back();
    return choices;
}

Robustness contrast_settings(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                             const Store& grid) {
    Robustness robustness{plan.index, plan.window, plan.measured, {}, {}};
    robustness.factors.insert(robustness.factors.end(), plan.chosen.begin(), plan.chosen.end());
    const Tester tester(survey, plan);
    const std::size_t members = plan.grid.settings.size();
    const std::size_t screens = plan.screens.size(), windows = plan.windows.size();
    constexpr std::size_t ways = kAveragings.size();
    robustness.grid.resize(members * screens * windows * ways);
    for (std::size_t s = 0; s < screens; ++s) {
        for (std::size_t w = 0; w < windows; ++w) {
            Survey variant = plan.screens[s];
            for (Window& window : variant.windows)
                if (window.name == plan.window) window = plan.windows[w];
            const GridSiteValues values =
                average_grid(variant, measured, grid, plan.window, members);
            for (std::size_t m = 0; m < members; ++m) {
                const std::size_t number = ((m * screens + s) * windows + w) * ways;
                for (std::size_t way = 0; way < ways; ++way)
                    robustness.grid[number + way].result = tester.row(values[way][m], -1);
            }
            if (s > 0 || w > 0) continue;
            for (std::size_t site = 0; site < survey.sites.size(); ++site) {
                const Site& left = survey.sites[site];
                if (left.stand != survey.stands.class_a && left.stand != survey.stands.class_b)
                    continue;
                SettingRow row{levels_of(0, robustness.factors),
                               tester.row(values[0][0], static_cast<int>(site))};
                robustness.without.push_back({left.name, row});
            }
        }
    }
    for (std::size_t i = 0; i < robustness.grid.size(); ++i)
        robustness.grid[i].levels = levels_of(i, robustness.factors);
    for (std::size_t i = 0; i < survey.decisions.size(); ++i)
        if (survey.decisions[i].kind != Decision::Kind::sample_rate)
            robustness.without.push_back(
                contrast_without(survey, plan, i, measured, grid, members));
    return robustness;
}

WithoutSite contrast_without(const Survey& survey, const SettingsPlan& plan, std::size_t decision,
                             const Store& measured, const Store& grid, std::size_t members) {
    const GridSiteValues values =
        average_grid(without_decision(survey, decision), measured, grid, plan.window, members);
    const std::size_t factors = plan.measured.size() + plan.chosen.size();
    return {in_short(survey.decisions[decision]),
            {std::vector<int>(factors), Tester(survey, plan).row(values[0][0], -1)},
            true};
}

RobustnessRun run_robustness(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                             int jobs, bool quiet) {
    RobustnessRun run;
    const std::filesystem::path folder = survey.folder / "hearwood";
    Store grid = Store::open_part(folder / "robustness.db");
    const GridSummary summary = measure_variants(survey, plan, measured, grid, jobs, quiet);
    run.failed = summary.failed;
    run.interrupted = summary.interrupted;
    if (run.interrupted) return run;
    run.result = contrast_settings(survey, plan, measured, grid);
    for (std::size_t i = 0; i < survey.decisions.size(); ++i) {
        // At two rates no even terms hold.
        if (survey.decisions[i].kind != Decision::Kind::sample_rate || !plan.even.empty()) continue;
        Store native = Store::open_part(folder / "robustness-rates.db");
        const SettingsGrid declared{plan.grid.index, {plan.grid.settings.front()}};
        run.interrupted =
            measure_grid(without_decision(survey, i), measured, native, declared, jobs, quiet)
                .interrupted;
        if (run.interrupted) return run;
        run.result.without.push_back(contrast_without(survey, plan, i, measured, native, 1));
    }
    run.idle = judge_settings(run.result);
    return run;
}

void keep_robustness(const Survey& survey, const Store& measured, const Robustness& result) {
    const KeptResult kept{
        kRobustness, fingerprint_of(kRobustness, survey, compute_site_values(survey, measured)),
        robustness_json(result)};
    keep_results(survey.folder, {&kept, 1});
}

void write_robustness(const Robustness& result, const std::filesystem::path& folder) {
    write_whole_file(folder / "robustness.csv", robustness_csv(result));
    write_whole_file(folder / "robustness_grid.csv", robustness_grid_csv(result));
    write_whole_file(folder / "robustness.svg", robustness_svg(result));
}

}  // namespace hearwood

#include "contrast/onset.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "statistics/quantile.h"

namespace hearwood {

namespace {

constexpr double kStepMinutes = 5;
/// Those that are there.
std::vector<double> sorted(std::vector<double> values) {
    std::erase_if(values, is_missing);
    std::sort(values.begin(), values.end());
    return values;
}

/// Medians over `width` steps. Of an even count the step's own value, or, where it has none, the
/// smaller of the middle two: a mean of a quiet and a loud step would be a step that nobody heard.
std::vector<double> running_median(const std::vector<double>& values, int width) {
    const int half = width / 2, size = static_cast<int>(values.size());
    std::vector<double> smooth;
    smooth.reserve(values.size());
    for (int k = 0; k < size; ++k) {
        const std::vector<double> around = sorted({values.begin() + std::max(0, k - half),
                                                   values.begin() + std::min(size, k + half + 1)});
        const std::size_t count = around.size();
        if (count % 2 == 1)
            smooth.push_back(around[count / 2]);
        else if (!is_missing(values[k]) || count == 0)
            smooth.push_back(values[k]);
        else
            smooth.push_back(around[count / 2 - 1]);
    }
    return smooth;
}

/// The last of the `most` steps before k that has a value; -1 for none.
int recorded_before(const std::vector<double>& means, int k, int most) {
    for (int j = k - 1; j >= 0 && j >= k - most; --j)
        if (!is_missing(means[j])) return j;
    return -1;
}

int steps_between(double from, double to) {
    return static_cast<int>(std::floor((to - from) / kStepMinutes + 1e-9));
}

/// The steps that onset and dawn level are looked for in, and some before and behind.
struct Morning {
    double from;                ///< of the first step, minutes from sunrise
    int lead;                   ///< steps before the search
    std::vector<double> means;  ///< NaN: nothing recorded
    std::vector<double> smooth;
};

Morning morning_of(std::span<const TimedValue> values, const OnsetRule& rule) {
    // The steps before the search tell whether the index was beyond the level all along.
    const int lead = rule.stay_steps + rule.smooth_steps / 2;
    const double tail = kStepMinutes * (rule.stay_steps + rule.smooth_steps);
    const double from = rule.search_from - kStepMinutes * lead;
    Morning morning{from, lead, five_minute_means(values, from, rule.search_to + tail), {}};
    morning.smooth = running_median(morning.means, rule.smooth_steps);
    return morning;
}

/// The smoothed steps of dawn that have a value.
std::vector<double> dawn_of(const Morning& morning, const OnsetRule& rule) {
    const int first = steps_between(morning.from, rule.dawn_from);
    const int last = steps_between(morning.from, rule.dawn_to);
    return sorted({morning.smooth.begin() + first, morning.smooth.begin() + last});
}

/// Of the values that are there, with n - 1.
double deviation(const std::vector<double>& values) {
    double mean = 0, squares = 0;
    for (const double value : values) mean += value / static_cast<double>(values.size());
    for (const double value : values) squares += (value - mean) * (value - mean);
    return std::sqrt(squares / static_cast<double>(values.size() - 1));
}

/// Night and dawn level and the threshold between them, of an index that rises; or why there are
/// none.
OnsetResult levels_of(std::span<const TimedValue> values, const Morning& morning,
                      const OnsetRule& rule) {
    OnsetResult result;
    const std::vector<double> night =
        sorted(five_minute_means(values, rule.night_from, rule.night_to));
    if (static_cast<int>(night.size()) < rule.least_night_steps) {
        result.why = "too few recordings before dawn for a night level";
        return result;
    }
    result.night_level = median(night);
    const std::vector<double> dawn = dawn_of(morning, rule);
    if (dawn.empty()) {
        result.why = "no recordings around sunrise for a dawn level";
        return result;
    }
    result.dawn_level = quantile(dawn, rule.dawn_share);
    const double rise = result.dawn_level - result.night_level;
    if (!(rise > 0) || rise < rule.least_rise * deviation(night)) {
        result.why = "no rise at dawn that stands out from the night";
        return result;
    }
    result.threshold = result.night_level + rule.share * rise;
    return result;
}

/// Fills in the first step that stays beyond the threshold, or why it is no onset.
void find_onset(const Morning& morning, const OnsetRule& rule, OnsetResult& result) {
    const auto& [from, lead, means, smooth] = morning;
    const int last = steps_between(from, rule.search_to);
    for (int k = lead; k < last; ++k) {
        const bool stays = std::all_of(smooth.begin() + k, smooth.begin() + k + rule.stay_steps,
                                       [&](double v) { return v > result.threshold; });
        if (!stays || is_missing(means[k])) continue;
        const int before = recorded_before(means, k, rule.stay_steps);
        if (before >= 0 && !(smooth[before] > result.threshold))
            result.minutes = from + kStepMinutes * k;
        else if (k == lead && before >= 0)
            result.why = "beyond a quarter of the rise already when the search begins";
        else
            result.why = "no recording just before the first that stays beyond";
        return;
    }
    result.why = "never stays beyond a quarter of the rise";
}

std::vector<TimedValue> upside_down(std::span<const TimedValue> values) {
    std::vector<TimedValue> turned(values.begin(), values.end());
    for (TimedValue& timed : turned) timed.value = -timed.value;
    return turned;
}

}  // namespace

std::vector<double> five_minute_means(std::span<const TimedValue> values, double from, double to) {
    const int steps = std::max(0, steps_between(from, to));
    std::vector<double> sums(steps, 0);
    std::vector<int> counts(steps, 0);
    for (const TimedValue& timed : values) {
        if (is_missing(timed.value) || !(timed.minutes >= from)) continue;
        const double step = std::floor((timed.minutes - from) / kStepMinutes);
        if (step >= steps) continue;
        sums[static_cast<std::size_t>(step)] += timed.value;
        ++counts[static_cast<std::size_t>(step)];
    }
    for (int k = 0; k < steps; ++k) sums[k] = counts[k] > 0 ? sums[k] / counts[k] : kMissing;
    return sums;
}

OnsetResult dawn_onset(std::span<const TimedValue> values, DawnMove move, const OnsetRule& rule) {
    if (move == DawnMove::down) {
        OnsetResult result = dawn_onset(upside_down(values), DawnMove::up, rule);
        for (double* level : {&result.night_level, &result.dawn_level, &result.threshold})
            *level = -*level;
        return result;
    }
    const Morning morning = morning_of(values, rule);
    OnsetResult result = levels_of(values, morning, rule);
    if (result.why.empty()) find_onset(morning, rule, result);
    return result;
}

double lean_at_dawn(std::span<const TimedValue> values, const OnsetRule& rule) {
    const std::vector<double> night =
        sorted(five_minute_means(values, rule.night_from, rule.night_to));
    const std::vector<double> dawn = dawn_of(morning_of(values, rule), rule);
    if (static_cast<int>(night.size()) < rule.least_night_steps || dawn.empty()) return kMissing;
    return quantile(dawn, rule.dawn_share) + quantile(dawn, 1 - rule.dawn_share) -
           2 * median(night);
}

TableOf<OnsetRow> onset_table() {
    using Row = OnsetRow;
    TableOf<Row> table("onset.csv", "onset of the dawn chorus",
                       "A row is an index, a site and a date.");
    table.column("index", "", "column of the tables that is compared", &Row::index)
        .column("site", "", "recording site", &Row::site)
        .column("stand", "", "stand class of the site", &Row::stand);
    TableField date;
    date.name = date.title = "date";
    date.type = "date";
    date.description = "local date";
    return table.column(date, &Row::date)
        .column("onset_min_from_sunrise", "min", "onset of the dawn chorus from sunrise",
                [](const Row& row) { return row.result.minutes; })
        .column("night_level", "", "level of the index before dawn",
                [](const Row& row) { return row.result.night_level; })
        .column("dawn_level", "", "level of the index around sunrise",
                [](const Row& row) { return row.result.dawn_level; })
        .column("threshold", "", "level that the onset has to pass: a quarter of the way",
                [](const Row& row) { return row.result.threshold; })
        .column("why", "", "why there is no onset", [](const Row& row) { return row.result.why; });
}

}  // namespace hearwood

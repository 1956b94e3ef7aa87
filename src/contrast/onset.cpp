#include "contrast/onset.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "statistics/quantile.h"

namespace hearwood {

namespace {

constexpr double kStepMinutes = 5;
/// Scales the median absolute deviation to the standard deviation of a normal distribution, 1 /
/// 0.6745.
constexpr double kNormalDeviation = 1.4826;

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

OnsetResult dawn_onset(std::span<const TimedValue> values, const OnsetRule& rule) {
    OnsetResult result;
    const std::vector<double> night = five_minute_means(values, rule.night_from, rule.night_to);
    const auto with_value =
        std::count_if(night.begin(), night.end(), [](double v) { return !is_missing(v); });
    if (with_value < rule.least_night_steps) {
        result.why = "too few recordings before dawn for a night level";
        return result;
    }
    result.night_level = median(sorted(night));
    std::vector<double> deviations;
    deviations.reserve(night.size());
    for (const double value : night) deviations.push_back(std::abs(value - result.night_level));
    result.threshold =
        result.night_level + rule.deviations * kNormalDeviation * median(sorted(deviations));

    // The steps before the search tell whether the index was above the level all along.
    const int lead = rule.stay_steps + rule.smooth_steps / 2;
    const double tail = kStepMinutes * (rule.stay_steps + rule.smooth_steps);
    const double from = rule.search_from - kStepMinutes * lead;
    const std::vector<double> means = five_minute_means(values, from, rule.search_to + tail);
    const std::vector<double> smooth = running_median(means, rule.smooth_steps);
    const int last = steps_between(from, rule.search_to);
    for (int k = lead; k < last; ++k) {
        const bool stays = std::all_of(smooth.begin() + k, smooth.begin() + k + rule.stay_steps,
                                       [&](double v) { return v > result.threshold; });
        if (!stays || is_missing(means[k])) continue;
        const int before = recorded_before(means, k, rule.stay_steps);
        if (before >= 0 && !(smooth[before] > result.threshold))
            result.minutes = from + kStepMinutes * k;
        else if (k == lead && before >= 0)
            result.why = "above the night level already when the search begins";
        else
            result.why = "no recording just before the first that stays above the night level";
        return result;
    }
    result.why = "never stays above the night level";
    return result;
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
        .column("threshold", "", "level that the onset has to pass",
                [](const Row& row) { return row.result.threshold; })
        .column("why", "", "why there is no onset", [](const Row& row) { return row.result.why; });
}

std::string onset_csv(std::span<const OnsetRow> rows) {
    return csv_of(onset_table(), rows);
}

}  // namespace hearwood

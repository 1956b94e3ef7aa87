#include "contrast/profile.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "base/missing.h"
#include "contrast/units.h"
#include "statistics/pair_test.h"

namespace hearwood {

namespace {

/// t = T / (s / sqrt(information)); 0 where nothing varies, infinite where nothing is left over.
/// Sums of squares below 1e-14 of what they were subtracted from are rounding.
double t_statistic(double difference, double information, double within_blocks, double df) {
    const double explained = difference * difference * information;
    const double rest = within_blocks - explained;
    if (rest <= 1e-14 * within_blocks)
        return within_blocks > 0
                   ? std::copysign(std::numeric_limits<double>::infinity(), difference)
                   : 0;
    return difference * std::sqrt(information) / std::sqrt(rest / df);
}

struct BlockSums {
    double a = 0, all = 0, squares = 0;
    int n_a = 0, n = 0;
};

/// One step at which some sites lack a value: which blocks and how many sites remain hangs on the
/// labels.
class PatchyStep {
  public:
    PatchyStep(const std::vector<double>& values, const Layout& layout) : layout_(layout) {
        for (std::size_t i = 0; i < values.size(); ++i)
            if (!is_missing(values[i])) present_.push_back(i);
        for (const std::size_t i : present_) centred_.push_back(values[i] - values[present_[0]]);
    }

    /// Abs t under the labels, or nothing when fewer than two sites of a class are left.
    std::optional<double> t(std::span<const std::uint8_t> labels) {
        blocks_.assign(layout_.block_count, {});
        for (std::size_t k = 0; k < present_.size(); ++k) {
            BlockSums& block = blocks_[layout_.blocks[present_[k]]];
            const double value = centred_[k];
            block.all += value;
            block.squares += value * value;
            ++block.n;
            if (labels[present_[k]] != 0) continue;
            block.a += value;
            ++block.n_a;
        }
        return from_sums();
    }

  private:
    std::optional<double> from_sums() const {
        double info = 0, sum = 0, within = 0, size = 0;
        int n_a = 0, n = 0, used = 0;
        for (const BlockSums& block : blocks_) {
            if (block.n_a == 0 || block.n_a == block.n) continue;
            const double share = static_cast<double>(block.n_a) / block.n;
            info += share * (block.n - block.n_a);
            sum += block.a - share * block.all;
            within += block.squares - block.all * block.all / block.n;
            size += block.squares;
            n_a += block.n_a;
            n += block.n;
            ++used;
        }
        if (n_a < 2 || n - n_a < 2) return std::nullopt;
        if (within <= 1e-14 * size) return 0;
        return std::abs(t_statistic(sum / info, info, within, n - used - 1));
    }

    const Layout& layout_;
    std::vector<std::size_t> present_;
    std::vector<double> centred_;
    std::vector<BlockSums> blocks_;
};

/// Abs t of every row of relabellings; NaN where the step is untested under the row's labels.
class StepStatistics {
  public:
    StepStatistics(const Layout& layout, const ContrastPlan& plan)
        : layout_(layout), plan_(plan), pair_(layout, plan.seed, plan.limits) {}

    std::vector<double> of(const std::vector<double>& values) {
        const bool whole = std::none_of(values.begin(), values.end(), is_missing);
        return whole ? whole_step(values) : patchy_step(values);
    }
    const PairTest& pair() const { return pair_; }

  private:
    std::vector<double> whole_step(const std::vector<double>& values) const {
        double within = 0;
        for (const double e : block_residuals(values, layout_)) within += e * e;
        const double df = static_cast<double>(values.size()) - layout_.block_count - 1;
        std::vector<double> t = pair_.statistics(values);
        for (double& value : t)
            value = std::abs(t_statistic(value, pair_.information(), within, df));
        return t;
    }

    std::vector<double> patchy_step(const std::vector<double>& values) {
        // The same relabellings as those of pair_, row by row: same layout, seed and limits.
        if (!relabellings_) relabellings_.emplace(layout_, plan_.seed, plan_.limits);
        PatchyStep step(values, layout_);
        std::vector<double> t(static_cast<std::size_t>(pair_.rows()));
        for (std::int64_t r = 0; r < pair_.rows(); ++r)
            t[r] = step.t(relabellings_->row(r)).value_or(kMissing);
        return t;
    }

    const Layout& layout_;
    const ContrastPlan& plan_;
    PairTest pair_;
    std::optional<Permutations> relabellings_;
};

/// Sites of the two classes with a value at any step, as units; the value is not used.
std::vector<Unit> units_of(const ProfileInput& input) {
    std::vector<Unit> units;
    for (std::size_t s = 0; s < input.sites.size(); ++s) {
        const bool any = std::any_of(input.values[s].begin(), input.values[s].end(),
                                     [](double v) { return !is_missing(v); });
        units.push_back({input.sites[s], input.stands[s], input.blocks[s], any ? 0 : kMissing});
    }
    return units;
}

double share_at_least(const std::vector<double>& values, double bar) {
    const auto hits =
        std::count_if(values.begin(), values.end(), [&](double value) { return value >= bar; });
    return static_cast<double>(hits) / static_cast<double>(values.size());
}

}  // namespace

Profile contrast_profile(const ProfileInput& input, const ContrastPlan& plan) {
    Profile profile;
    for (const double step : input.steps) profile.steps.push_back({step});
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units_of(input), classes);
    if (ready.counts[0] < 2 || ready.counts[1] < 2) return profile;

    StepStatistics statistics(ready.layout, plan);
    profile.relabellings = statistics.pair().reported();
    profile.exact = statistics.pair().exact();
    std::vector<double> largest(static_cast<std::size_t>(statistics.pair().rows()), 0);
    for (std::size_t k = 0; k < input.steps.size(); ++k) {
        ProfileStep& step = profile.steps[k];
        std::vector<Unit> units = ready.units;
        for (Unit& unit : units) {
            const auto place = std::find(input.sites.begin(), input.sites.end(), unit.site);
            unit.value = input.values[place - input.sites.begin()][k];
        }
        const ReadyUnits here = ready_units(units, classes);
        step.n_a = here.counts[0];
        step.n_b = here.counts[1];
        if (step.n_a < 2 || step.n_b < 2) continue;
        step.mean_a = class_mean(here, 0);
        step.mean_b = class_mean(here, 1);
        const std::vector<double> t = statistics.of(values_of(units));
        for (std::size_t r = 0; r < t.size(); ++r)
            if (t[r] > largest[r]) largest[r] = t[r];
        step.difference = difference_of(here);
        step.t = std::copysign(t.front(), step.difference);
        step.p = share_at_least(t, t.front() * (1 - 1e-9));
    }
    for (ProfileStep& step : profile.steps)
        if (!is_missing(step.t))
            step.p_adjusted = share_at_least(largest, std::abs(step.t) * (1 - 1e-9));
    return profile;
}

namespace {

TableOf<ProfileRow> with_results(TableOf<ProfileRow> table) {
    const auto of = [](double ProfileStep::*member) {
        return [member](const ProfileRow& row) { return row.step.*member; };
    };
    return table
        .column("n_a", "1", "sites of class A that took part",
                [](const ProfileRow& row) { return row.step.n_a; })
        .column("n_b", "1", "sites of class B that took part",
                [](const ProfileRow& row) { return row.step.n_b; })
        .column("mean_a", "", "plain mean of the sites of class A", of(&ProfileStep::mean_a))
        .column("mean_b", "", "plain mean of the sites of class B", of(&ProfileStep::mean_b))
        .column("difference", "", "A minus B, adjusted for blocks", of(&ProfileStep::difference))
        .column("t", "1", "difference over its standard error under the block model",
                of(&ProfileStep::t))
        .column("p", "1", "two-sided p of the permutation test", of(&ProfileStep::p))
        .column("p_adjusted", "1", "p adjusted for all steps of the index",
                of(&ProfileStep::p_adjusted));
}

}  // namespace

TableOf<ProfileRow> profile_table() {
    TableOf<ProfileRow> table("profile.csv", "profile of the day",
                              "A row is an index and an hour.");
    table.column("index", "", "column of the tables that is compared", &ProfileRow::index)
        .column("hour", "h", "hour of the local clock",
                [](const ProfileRow& row) { return std::lround(row.step.step); });
    return with_results(std::move(table));
}

TableOf<ProfileRow> dawn_profile_table() {
    TableOf<ProfileRow> table("dawn_profile.csv", "profile of the dawn",
                              "A row is an index and a step of five minutes from sunrise.");
    table.column("index", "", "column of the tables that is compared", &ProfileRow::index)
        .column("minutes_from_sunrise", "min",
                "start of a step of five minutes, counted from sunrise",
                [](const ProfileRow& row) { return row.step.step; });
    return with_results(std::move(table));
}

std::vector<ProfileRow> profile_rows(std::span<const NamedProfile> profiles) {
    std::vector<ProfileRow> rows;
    for (const auto& [index, profile] : profiles)
        for (const ProfileStep& step : profile.steps) rows.push_back({index, step});
    return rows;
}

}  // namespace hearwood

#include "aggregate/site_averager.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include "base/missing.h"

namespace hearwood {
namespace {

constexpr double kLowestLevel = -200, kCellsPerDecibel = 10;
constexpr double kQuietShare = 0.1;

template <class Value>
void insert_once(std::vector<Value>& sorted, Value value) {
    const auto place = std::lower_bound(sorted.begin(), sorted.end(), value);
    if (place == sorted.end() || *place != value) sorted.insert(place, value);
}

/// Centre of the histogram cell in which the quantile lies; NaN for an empty one.
double quantile(const std::vector<std::uint32_t>& histogram, double share) {
    const auto total = std::accumulate(histogram.begin(), histogram.end(), std::uint64_t{0});
    if (total == 0) return kMissing;
    const auto wanted = static_cast<std::uint64_t>(share * static_cast<double>(total));
    std::uint64_t below = 0;
    std::size_t cell = 0;
    while (cell + 1 < histogram.size() && below + histogram[cell] <= wanted)
        below += histogram[cell++];
    return kLowestLevel + (static_cast<double>(cell) + 0.5) / kCellsPerDecibel;
}

}  // namespace

SiteAverager::SiteAverager(const Survey& survey, const DerivedValues& derived,
                           const JudgedSegments& segments)
    : survey_(survey),
      columns_(averaged_columns(survey)),
      reader_(columns_, segments.stored_columns()),
      derived_(derived),
      hours_(columns_.size(), false),
      windows_(columns_.size(), true),
      steps_(columns_.size(), false),
      window_cells_(survey, columns_.size()),
      levels_(survey.deployments.size()),
      applied_(survey) {
    for (const TableColumn& column : columns_) result_.columns.push_back(column.column);
    for (const Window& window : survey.windows) result_.windows.push_back(window.name);
    l90_ = result_.column("l90_dbfs");
    first_derived_ =
        static_cast<std::size_t>(result_.column(derived_columns(survey)[0].column.name));
    for (const std::string& season : seasons_of(survey))
        seasons_.emplace(season, WindowCells(survey, columns_.size()));
    result_.sample_rates.resize(survey.sites.size());
    result_.deployments.resize(survey.deployments.size());
}

int SiteAverager::source_of(const JudgedSegment& segment) {
    const Deployment& deployment = survey_.deployments[segment.deployment];
    // A recorder that was taken in and put out again at the site is still one recorder.
    const std::string& recorder =
        deployment.recorder.empty() ? deployment.name : deployment.recorder;
    const auto next = static_cast<int>(sources_.size());
    return sources_.emplace(std::pair(recorder, segment.row->channel), next).first->second;
}

void SiteAverager::describe_recorder(const JudgedSegment& segment) {
    DeploymentSound& sound = result_.deployments[segment.deployment];
    const Date date = segment.place.part.date;
    if (sound.possible == 0) sound.first = sound.last = date;
    sound.first = std::min(sound.first, date);
    sound.last = std::max(sound.last, date);
    ++sound.possible;
    if (!segment.averaged()) return;
    ++sound.kept;
    sound.hour_minutes[static_cast<std::size_t>(segment.place.part.hour)] +=
        segment.duration_s() / 60 / segment.recording->row.channels;
    insert_once(sound.dates, date);
    const double rate = segment.recording->measured_rate;
    insert_once(sound.sample_rates, rate);
    insert_once(result_.sample_rates[segment.site], rate);
    if (l90_ < 0 || is_missing(values_[static_cast<std::size_t>(l90_)])) return;
    auto& histogram = levels_[segment.deployment];
    if (histogram.empty()) histogram.resize(kLevelCells);
    const double cell = (values_[static_cast<std::size_t>(l90_)] - kLowestLevel) * kCellsPerDecibel;
    ++histogram[static_cast<std::size_t>(std::clamp(cell, 0.0, kLevelCells - 1.0))];
}

void SiteAverager::segment(const JudgedSegment& segment) {
    ++result_.segments;
    applied_.segment(segment);
    if (!segment.possible()) return;
    const bool kept = segment.averaged();
    result_.kept += kept ? 1 : 0;
    const auto full_scale = survey_.deployments[segment.deployment].full_scale_db_spl;
    reader_.read(segment.row->values, full_scale.value_or(kMissing), values_);
    const std::vector<double>& derived = derived_.values();
    std::copy(derived.begin(), derived.end(),
              values_.begin() + static_cast<std::ptrdiff_t>(first_derived_));
    describe_recorder(segment);

    const DayPart& part = segment.place.part;
    const int source = source_of(segment);
    hours_.add({segment.site, part.date, part.hour, source}, kept, values_);
    if (part.window >= 0)
        windows_.add({segment.site, part.window_date, part.window, source}, kept, values_);
    if (kept) {
        window_cells_.add(segment, source, values_);
        const auto season = seasons_.find(season_of(survey_, segment.deployment));
        if (season != seasons_.end()) season->second.add(segment, source, values_);
    }
    if (is_missing(part.minutes_from_sunrise)) return;
    const auto step = static_cast<int>(std::floor(part.minutes_from_sunrise / kStepMinutes));
    if (step >= kFirstStep && step < kEndStep)
        steps_.add({segment.site, part.date, step, source}, kept, values_);
}

std::vector<double> SiteAverager::median_levels() const {
    std::vector<double> medians;
    for (std::size_t site = 0; site < survey_.sites.size(); ++site) {
        std::vector<std::uint32_t> sum(kLevelCells);
        for (std::size_t i = 0; i < levels_.size(); ++i)
            if (survey_.deployments[i].site == site && !levels_[i].empty())
                std::transform(sum.begin(), sum.end(), levels_[i].begin(), sum.begin(),
                               std::plus<>());
        medians.push_back(quantile(sum, 0.5));
    }
    return medians;
}

std::vector<std::vector<double>> SiteAverager::median_backgrounds() const {
    std::vector<std::vector<double>> medians(survey_.sites.size());
    for (const auto& [site, levels] : derived_.of_sites().site_backgrounds) {
        medians[site] = BackgroundLevels::medians({{&levels, 0}});
        // A median of no background at all is no level.
        for (double& level : medians[site])
            if (std::isinf(level)) level = kMissing;
    }
    return medians;
}

void SiteAverager::end_deployment(std::size_t deployment, std::span<const KnownRecording>) {
    window_cells_.end_deployment(deployment);
    for (auto& [name, cells] : seasons_) cells.end_deployment(deployment);
}

std::vector<SeasonMeans> SiteAverager::finish_seasons() {
    const std::vector<int> places = sites_by_name(survey_);
    std::vector<std::pair<Date, SeasonMeans>> dated;
    for (auto& [name, cells] : seasons_) {
        SeasonMeans season{name, {}};
        for (std::size_t site = 0; site < survey_.sites.size(); ++site)
            for (std::size_t w = 0; w < survey_.windows.size(); ++w)
                season.window_means.push_back({.site = site,
                                               .part = static_cast<int>(w),
                                               .values = std::vector<double>(columns_.size())});
        put_model_values(places, cells.finish(), season.window_means);
        Date first = Date::max();
        for (std::size_t d = 0; d < survey_.deployments.size(); ++d)
            if (season_of(survey_, d) == name && result_.deployments[d].possible > 0)
                first = std::min(first, result_.deployments[d].first);
        dated.emplace_back(first, std::move(season));
    }
    std::stable_sort(dated.begin(), dated.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<SeasonMeans> seasons;
    for (auto& [date, season] : dated) seasons.push_back(std::move(season));
    return seasons;
}

SiteValues SiteAverager::finish(const JudgedSegments& segments) {
    SiteValues& result = result_;
    result.site_hours = hours_.finish();
    result.hours = means_over_dates(result.site_hours);
    const std::vector<int> places = sites_by_name(survey_);
    put_model_values(places, fit_hours(places, columns_.size(), result.site_hours), result.hours);
    result.site_windows = windows_.finish();
    result.window_means = means_over_dates(result.site_windows);
    const std::map<int, AdditiveModel::Fit> windows = window_cells_.finish();
    put_model_values(places, windows, result.window_means);
    put_nights(places, windows, result.site_windows);
    result.seasons = finish_seasons();
    result.site_steps = steps_.finish();
    result.steps = means_over_dates(result.site_steps);
    for (std::size_t i = 0; i < levels_.size(); ++i)
        result.deployments[i].quiet_level_dbfs = quantile(levels_[i], kQuietShare);
    result.l90_dbfs = median_levels();
    result.background_db = median_backgrounds();
    result.same_sounds = segments.same();
    result.not_measured = segments.not_measured();
    result.old_even = derived_.old_even();
    result.applied = applied_.steps();
    result.beside_even = beside_even_values(derived_.terms());
    for (std::size_t site = 0; site < survey_.sites.size(); ++site) {
        const FlagTally& tally = segments.tallies()[site];
        const Reasons doubted = tally.suspicious(survey_.screen);
        if (tally.weather_unknown() > 0)
            result.weather_unknown.push_back({site, tally.weather_unknown(), tally.segments()});
        for (int i = 0; i < kReasonCount; ++i) {
            const auto reason = static_cast<Reason>(i);
            if (tally.fired(reason) > 0)
                result.flagged.push_back({site, name_of(reason), tally.fired(reason),
                                          tally.segments(), doubted.has(reason)});
        }
    }
    return std::move(result_);
}

}  // namespace hearwood

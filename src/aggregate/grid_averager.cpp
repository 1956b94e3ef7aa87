#include "aggregate/grid_averager.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "aggregate/date_cells.h"
#include "aggregate/judged_segments.h"
#include "aggregate/window_cells.h"
#include "base/missing.h"
#include "survey/windows.h"

namespace hearwood {

namespace {

/// A recorder's channel at a site on a date, whose segments are held until its deployment ends.
struct OpenKey {
    std::size_t site;
    Date date;
    int source;
    auto operator<=>(const OpenKey&) const = default;
};

using Table = std::vector<std::vector<double>>;  ///< [setting][site]

/// Of an even number the mean of the middle two.
double median(std::vector<double> values) {
    if (values.empty()) return kMissing;
    const std::size_t half = values.size() / 2;
    std::sort(values.begin(), values.end());
    return values.size() % 2 ? values[half] : (values[half - 1] + values[half]) / 2;
}

class Averager : public SegmentVisitor {
  public:
    Averager(const Survey& survey, const Store& grid, int window, std::size_t members)
        : survey_(survey), grid_(grid), window_(window), members_(members) {}

    void begin_recording(const KnownRecording& recording) override {
        values_.clear();
        const auto row = grid_.find(recording.row.path);
        if (!row) return;
        grid_.for_each_segment_of(row->id, [&](const SegmentRow& segment) {
            values_[{segment.channel, segment.segment}] = segment.values;
        });
    }

    void segment(const JudgedSegment& segment) override {
        if (!segment.averaged() || segment.place.part.window != window_) return;
        const auto values = values_.find({segment.row->channel, segment.row->segment});
        if (values == values_.end()) return;
        const DayPart& part = segment.place.part;
        const int source = source_of(segment);
        const DateCells::Where date{segment.site, part.window_date, 0, source};
        dates_.add(date, true, values->second);
        quarters_.add({segment.site, part.window_date, part.quarter, source}, true, values->second);
        Segments& open = open_[{segment.site, part.window_date, source}];
        open.resize(members_);
        for (std::size_t m = 0; m < members_; ++m)
            if (!is_missing(values->second[m])) open[m].push_back(values->second[m]);
    }

    /// Medians are closed deployment by deployment, so that only one's segments are held at a time.
    void end_deployment(std::size_t, std::span<const KnownRecording>) override {
        std::vector<double> medians(members_);
        for (auto& [key, segments] : open_) {
            std::transform(segments.begin(), segments.end(), medians.begin(), median);
            medians_.add({key.site, key.date, 0, key.source}, true, medians);
        }
        open_.clear();
    }

    GridSiteValues finish() {
        const std::vector<DateMean> quarters = quarters_.finish();
        return {adjusted(quarters), over_dates(dates_.finish()), over_dates(shared(quarters)),
                over_dates(medians_.finish())};
    }

  private:
    using Segments = std::vector<std::vector<double>>;  ///< [setting]

    /// A recorder that was taken in and put out again at the site is still one recorder.
    int source_of(const JudgedSegment& segment) {
        const Deployment& deployment = survey_.deployments[segment.deployment];
        const std::string& recorder =
            deployment.recorder.empty() ? deployment.name : deployment.recorder;
        const auto next = static_cast<int>(sources_.size());
        return sources_.emplace(std::pair(recorder, segment.row->channel), next).first->second;
    }

    Table over_dates(const std::vector<DateMean>& rows) const {
        return by_setting(means_over_dates(rows));
    }

    Table by_setting(const std::vector<SiteMean>& means) const {
        Table table(members_, std::vector<double>(survey_.sites.size(), kMissing));
        for (const SiteMean& mean : means)
            for (std::size_t m = 0; m < members_; ++m) table[m][mean.site] = mean.values[m];
        return table;
    }

    Table adjusted(const std::vector<DateMean>& quarters) const {
        const std::vector<int> places = sites_by_name(survey_);
        AdditiveModel model(places.size(), members_);
        for (const DateMean& row : quarters)
            model.add(
                {places[row.site], static_cast<int>(row.date.time_since_epoch().count()), row.part},
                row.values);
        std::map<int, AdditiveModel::Fit> fits;
        fits.emplace(0, model.fit());
        std::vector<SiteMean> means;
        for (std::size_t site = 0; site < places.size(); ++site)
            means.push_back({.site = site, .values = std::vector<double>(members_)});
        put_model_values(places, fits, means);
        return by_setting(means);
    }

    /// Means of each date over the quarters that every compared site with any quarter has.
    std::vector<DateMean> shared(const std::vector<DateMean>& quarters) const {
        std::map<int, std::set<std::size_t>> sites_of;
        std::set<std::size_t> compared;
        for (const DateMean& row : quarters) {
            const std::string& stand = survey_.sites[row.site].stand;
            if (stand != survey_.stands.class_a && stand != survey_.stands.class_b) continue;
            compared.insert(row.site);
            sites_of[row.part].insert(row.site);
        }
        // Each quarter is one source of the date: a mean over sources is a mean over quarters.
        DateCells dates(members_, false);
        for (const DateMean& row : quarters)
            if (sites_of[row.part].size() == compared.size())
                dates.add({row.site, row.date, 0, row.part + 1000}, true, row.values);
        return dates.finish();
    }

    const Survey& survey_;
    const Store& grid_;
    int window_;
    std::size_t members_;
    std::map<std::pair<int, int>, std::vector<double>> values_;  ///< of the recording in hand
    std::map<std::pair<std::string, int>, int> sources_;         ///< recorder and channel
    DateCells dates_{members_, false}, quarters_{members_, false}, medians_{members_, false};
    std::map<OpenKey, Segments> open_;
};

}  // namespace

GridSiteValues average_grid(const Survey& survey, const Store& measured, const Store& grid,
                            const std::string& window, std::size_t members) {
    const auto place = window_named(survey.windows, window);
    const JudgedSegments segments(survey, measured);
    Averager averager(survey, grid, place ? static_cast<int>(*place) : -1, members);
    SegmentVisitor* const visitors[] = {&averager};
    segments.visit(visitors);
    return averager.finish();
}

}  // namespace hearwood

#include "command/grid_averager.h"

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

#include "aggregate/judged_segments.h"
#include "base/missing.h"
#include "survey/windows.h"

namespace hearwood {

namespace {

/// A recorder's channel at a site on a date.
struct CellKey {
    std::size_t site;
    Date date;
    std::string recorder;
    int channel;
    bool operator<(const CellKey& other) const {
        return std::tie(site, date, recorder, channel) <
               std::tie(other.site, other.date, other.recorder, other.channel);
    }
};

struct Mean {
    double sum = 0;
    int count = 0;
    void add(double value) {
        if (is_missing(value)) return;
        sum += value;
        ++count;
    }
    double value() const { return count > 0 ? sum / count : kMissing; }
};

/// Of an even number the mean of the middle two.
double median(std::vector<double>& values) {
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
        const Deployment& deployment = survey_.deployments[segment.deployment];
        const CellKey key{segment.site, segment.place.part.window_date,
                          deployment.recorder.empty() ? deployment.name : deployment.recorder,
                          segment.row->channel};
        std::vector<Mean>& means = means_[key];
        means.resize(members_);
        std::vector<std::vector<double>>& open = open_[key];
        open.resize(members_);
        for (std::size_t m = 0; m < members_; ++m) {
            const double value = values->second[m];
            means[m].add(value);
            if (!is_missing(value)) open[m].push_back(value);
        }
    }

    /// Medians are closed deployment by deployment, so that only one's segments are held at a time.
    void end_deployment(std::size_t, std::span<const KnownRecording>) override {
        for (auto& [key, values] : open_) {
            std::vector<Mean>& medians = medians_[key];
            medians.resize(members_);
            for (std::size_t m = 0; m < members_; ++m) medians[m].add(median(values[m]));
        }
        open_.clear();
    }

    GridSiteValues finish() const { return {over_dates(means_), over_dates(medians_)}; }

  private:
    using Cells = std::map<CellKey, std::vector<Mean>>;

    std::vector<std::vector<double>> over_dates(const Cells& cells) const {
        std::vector<std::vector<double>> result(
            members_, std::vector<double>(survey_.sites.size(), kMissing));
        for (std::size_t m = 0; m < members_; ++m) {
            std::map<std::pair<std::size_t, Date>, Mean> dates;
            for (const auto& [key, means] : cells)
                dates[{key.site, key.date}].add(means[m].value());
            std::map<std::size_t, Mean> sites;
            for (const auto& [place, mean] : dates) sites[place.first].add(mean.value());
            for (const auto& [site, mean] : sites) result[m][site] = mean.value();
        }
        return result;
    }

    const Survey& survey_;
    const Store& grid_;
    int window_;
    std::size_t members_;
    std::map<std::pair<int, int>, std::vector<double>> values_;  ///< of the recording in hand
    Cells means_, medians_;
    std::map<CellKey, std::vector<std::vector<double>>> open_;
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

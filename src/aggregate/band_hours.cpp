#include "aggregate/band_hours.h"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

#include "aggregate/date_cells.h"
#include "aggregate/window_cells.h"
#include "base/missing.h"
#include "index/kept_spectrum.h"

namespace hearwood {

namespace {

constexpr double kFineBand = 250, kFineEnd = 2000, kCoarseBand = 500;

class BandAverager : public SegmentVisitor {
  public:
    BandAverager(const Survey& survey, const Store& store, std::vector<PitchBand> bands)
        : survey_(survey), store_(store), bands_(std::move(bands)), cells_(bands_.size(), false) {}

    void begin_recording(const KnownRecording&) override { places_.clear(); }

    void segment(const JudgedSegment& segment) override {
        if (!segment.averaged()) return;
        const DayPart& part = segment.place.part;
        const Deployment& deployment = survey_.deployments[segment.deployment];
        const std::string& recorder =
            deployment.recorder.empty() ? deployment.name : deployment.recorder;
        const auto next = static_cast<int>(sources_.size());
        const int source =
            sources_.emplace(std::pair(recorder, segment.row->channel), next).first->second;
        places_[{segment.row->channel, segment.row->segment}] = {segment.site, part.date, part.hour,
                                                                 source};
    }

    void end_recording(const KnownRecording& recording) override {
        if (places_.empty()) return;
        store_.for_each_spectrum_of(
            recording.row.id, [&](int channel, int segment, std::string_view bytes) {
                const auto place = places_.find({channel, segment});
                if (place == places_.end()) return;
                cells_.add(place->second, true,
                           shares(decode_kept_spectrum(bytes), recording.measured_rate));
            });
    }

    BandHours finish() {
        BandHours result{bands_, {}};
        result.values.assign(
            survey_.sites.size(),
            std::vector<std::vector<double>>(24, std::vector<double>(bands_.size(), kMissing)));
        const std::vector<DateMean> dates = cells_.finish();
        std::vector<SiteMean> means = means_over_dates(dates);
        const std::vector<int> places = sites_by_name(survey_);
        put_model_values(places, fit_hours(places, bands_.size(), dates), means);
        for (const SiteMean& mean : means)
            result.values[mean.site][static_cast<std::size_t>(mean.part)] = mean.values;
        return result;
    }

  private:
    /// Mean share of each band over its bins that have a background. Bands follow on each other
    /// from 0 Hz on, as the bins do.
    std::vector<double> shares(const KeptSpectrum& spectrum, int sample_rate) const {
        const double width = static_cast<double>(sample_rate) / (2.0 * (spectrum.bins() - 1));
        std::vector<double> result;
        int k = 0;
        for (const PitchBand& band : bands_) {
            double sum = 0;
            int count = 0;
            for (; k < spectrum.bins() && k * width < band.high_hz; ++k) {
                const double share = static_cast<double>(spectrum.standout[k]);
                if (is_missing(share)) continue;
                sum += share;
                ++count;
            }
            result.push_back(count > 0 ? sum / count : kMissing);
        }
        return result;
    }

    const Survey& survey_;
    const Store& store_;
    std::vector<PitchBand> bands_;
    DateCells cells_;
    std::map<std::pair<std::string, int>, int> sources_;      ///< recorder and channel
    std::map<std::pair<int, int>, DateCells::Where> places_;  ///< of the recording under way
};

}  // namespace

std::vector<PitchBand> pitch_bands(int sample_rate) {
    std::vector<PitchBand> bands;
    for (double low = 0;;) {
        const double high = low + (low < kFineEnd ? kFineBand : kCoarseBand);
        if (2 * high > sample_rate) return bands;
        bands.push_back({low, high});
        low = high;
    }
}

BandHours band_hours(const Survey& survey, const Store& store, const JudgedSegments& segments,
                     int lowest_rate) {
    BandAverager averager(survey, store, pitch_bands(lowest_rate));
    SegmentVisitor* visitors[] = {&averager};
    segments.visit(visitors);
    return averager.finish();
}

}  // namespace hearwood

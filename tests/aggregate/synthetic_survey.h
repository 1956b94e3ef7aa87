// A survey in memory and a store that is filled by hand, for tests whose averages can be worked out
// on paper.
#pragma once

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <string>
#include <vector>

#include "aggregate/placement.h"
#include "base/file.h"
#include "index/catalogue.h"
#include "index/kept_sounds.h"
#include "index/kept_spectrum.h"
#include "measure/measure.h"
#include "store/store.h"
#include "survey/survey.h"
#include "survey/windows.h"
#include "survey/zone.h"
#include "temporary_folder.h"

namespace hearwood::synthetic {

using testing::TemporaryFolder;

inline LocalTime at(const std::string& text) {
    return parse_local_time(text).value();
}
inline Date on(const std::string& text) {
    return parse_date(text).value();
}

/// Two classes with two sites each at an invented river, one deployment a site: K1, K2 rich, H1, H2
/// poor.
inline Survey four_sites(const std::string& zone = "Asia/Kuching") {
    Survey survey;
    survey.title = "Heath and alluvium";
    survey.time_zone = zone;
    survey.stands = {"nutrient_status", "rich", "poor", "", 250, {}};
    survey.windows = built_in_windows();
    survey.site_columns = {"site", "latitude", "longitude", "nutrient_status"};
    survey.deployment_columns = {"deployment", "site", "folder"};
    for (const auto& [name, stand] :
         {std::pair{"K1", "rich"}, {"K2", "rich"}, {"H1", "poor"}, {"H2", "poor"}}) {
        Site site;
        site.name = name;
        site.latitude = 2.0;
        site.longitude = 113.0;
        site.stand = stand;
        site.cells = {name, "2", "113", stand};
        site.line = survey.sites.size() + 2;
        Deployment deployment;
        deployment.name = std::string("D") + name;
        deployment.site = survey.sites.size();
        deployment.folder = "recordings/" + deployment.name;
        deployment.clock = zone;
        deployment.cells = {deployment.name, name, deployment.folder};
        survey.sites.push_back(site);
        survey.deployments.push_back(deployment);
    }
    return survey;
}

/// One minute of one channel: values by column name; what is not named is a quiet, unremarkable
/// segment's.
using Named = std::map<std::string, double>;

class Filler {
  public:
    Filler(const Survey& survey, const std::filesystem::path& file)
        : settings_(measuring_settings(survey.measure)),
          pattern_(survey.start_time_pattern),
          store_(Store::open_part(file)) {
        store_.begin();
        store_.replace_settings(settings_);
        store_.commit();
    }

    RecordingRow row(const std::string& deployment, const std::string& name,
                     const std::string& start, int segments) const {
        RecordingRow row;
        row.deployment = deployment;
        row.path = "recordings/" + deployment + "/" + name;
        row.size = 1000 + segments;
        row.start = at(start);
        row.start_source = "name";
        row.start_pattern = pattern_;
        row.sample_rate = 24000;
        row.channels = 1;
        row.bits = 16;
        row.format = "WAV";
        row.frames = std::int64_t{24000} * 60 * segments;
        row.state = RecordingState::measured;
        row.settings = settings_.hash;
        return row;
    }

    /// A recording with these minutes, one list of minutes a channel.
    void add(RecordingRow row, const std::vector<std::vector<Named>>& channels) {
        row.channels = static_cast<int>(channels.size());
        store_.begin();
        const std::int64_t id = store_.put(row);
        std::vector<MeasuredSegment> segments;
        for (std::size_t segment = 0; segment < channels.front().size(); ++segment)
            for (std::size_t channel = 0; channel < channels.size(); ++channel)
                segments.push_back(minute(row, channel, segment, channels[channel][segment]));
        store_.append(id, segments);
        store_.commit();
    }
    void add(const std::string& deployment, const std::string& name, const std::string& start,
             const std::vector<Named>& minutes) {
        add(row(deployment, name, start, static_cast<int>(minutes.size())), {minutes});
    }

    const Store& store() const { return store_; }
    Store& store() { return store_; }
    const StoredSettings& settings() const { return settings_; }

  private:
    MeasuredSegment minute(const RecordingRow& row, std::size_t channel, std::size_t segment,
                           const Named& named) const {
        MeasuredSegment result;
        result.row.channel = static_cast<int>(channel);
        result.row.segment = static_cast<int>(segment);
        result.row.first_sample = static_cast<std::int64_t>(segment) * 60 * row.sample_rate;
        result.row.samples = std::int64_t{60} * row.sample_rate;
        for (const std::string& column : settings_.columns) {
            double value = std::nan("");
            if (column.find("dbfs") != std::string::npos) value = -40;
            if (column == "clipped_fraction" || column == "dc_offset") value = 0;
            if (const auto given = named.find(column); given != named.end()) value = given->second;
            result.row.values.push_back(value);
        }
        // The share of frames that stand out, the same in every bin, or another in the upper half.
        if (const auto share = named.find("_share"); share != named.end()) {
            KeptSpectrum spectrum;
            spectrum.power_db.assign(257, -60.0F);
            spectrum.standout.assign(257, static_cast<float>(share->second));
            if (const auto upper = named.find("_upper_share"); upper != named.end())
                std::fill(spectrum.standout.begin() + 128, spectrum.standout.end(),
                          static_cast<float>(upper->second));
            result.spectra = encode(spectrum);
        }
        // The background of two bands; the second has none.
        if (const auto level = named.find("_background"); level != named.end()) {
            SegmentSounds sounds;
            sounds.background_db = {static_cast<float>(level->second),
                                    -std::numeric_limits<float>::infinity()};
            result.sounds = encode(sounds);
        }
        if (named.contains("_short")) {
            result.row.complete = false;
            result.row.samples /= 2;
        }
        return result;
    }

    StoredSettings settings_;
    std::string pattern_;
    Store store_;
};

}  // namespace hearwood::synthetic

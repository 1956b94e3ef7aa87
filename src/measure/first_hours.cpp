#include "measure/first_hours.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "audio/audio_file.h"
#include "measure/measure.h"
#include "measure/segment_measurer.h"
#include "measure/survey_walk.h"
#include "statistics/quantile.h"
#include "store/json.h"

namespace hearwood {

namespace {

constexpr double kHour_s = 3'600, kDay_s = 86'400;

std::string kept_name(const std::string& deployment) {
    return "first hours " + deployment;
}

double median_of(std::vector<double> values) {
    std::erase_if(values, [](double value) { return is_missing(value); });
    return median(std::move(values));
}

}  // namespace

std::vector<ListeningPoint> first_points(std::span<const TimedRecording> recordings,
                                         double segment_s) {
    std::vector<ListeningPoint> all, chosen;
    for (std::size_t i = 0; i < recordings.size(); ++i) {
        const TimedRecording& recording = recordings[i];
        for (double at = 0; at < recording.duration_s; at += kHour_s) {
            if (recording.start_s + at >= recordings.front().start_s + kDay_s) break;
            all.push_back({i, static_cast<std::int64_t>(at / segment_s)});
        }
    }
    const std::size_t wanted = std::min(all.size(), kFirstSegments);
    for (std::size_t i = 0; i < wanted; ++i) chosen.push_back(all[i * all.size() / wanted]);
    return chosen;
}

FirstHours first_hours(std::span<const std::vector<double>> rows,
                       std::span<const std::string> columns, const ScreenSettings& settings) {
    const Screens screens(settings, columns);
    const auto place = [&](const char* name) {
        return static_cast<std::size_t>(std::find(columns.begin(), columns.end(), name) -
                                        columns.begin());
    };
    const std::size_t l10 = place("l10_dbfs"), l50 = place("l50_dbfs"), l90 = place("l90_dbfs");
    FirstHours heard;
    std::vector<double> levels, floors, spreads;
    const auto at = [&](const std::vector<double>& row, std::size_t column) {
        return column < row.size() ? row[column] : kMissing;
    };
    for (const std::vector<double>& row : rows) {
        ++heard.segments;
        if (screens.judge(row, {}).flags.has(Reason::dead)) {
            ++heard.dead;
            continue;
        }
        levels.push_back(at(row, l50));
        floors.push_back(at(row, l90));
        spreads.push_back(at(row, l10) - at(row, l90));
    }
    heard.level_dbfs = median_of(std::move(levels));
    heard.floor_dbfs = median_of(std::move(floors));
    heard.spread_db = median_of(std::move(spreads));
    return heard;
}

FirstHours listen_to(const Survey& survey, std::span<const RecordingRow> recordings,
                     std::span<const ListeningPoint> points) {
    SegmentMeasurer measurer(survey.measure);
    std::vector<std::vector<double>> rows;
    for (const ListeningPoint& point : points) {
        const std::filesystem::path path = disk_path(survey, recordings[point.recording]);
        auto opened = open_audio(path);
        auto* file = std::get_if<AudioFile>(&opened);
        if (!file) continue;
        OpenRecording recording(path, std::move(*file));
        if (point.segment >= measurer.layout(recording).count()) continue;
        Losses losses;
        bool first = true;  // channel
        measurer.measure(
            recording, point.segment, point.segment + 1, [] { return false; },
            [&](MeasuredSegment&& segment) {
                if (first) rows.push_back(std::move(segment.row.values));
                first = false;
            },
            losses);
    }
    return first_hours(rows, measuring_settings(survey.measure).columns, survey.screen);
}

void keep_first_hours(Store& store, const std::string& deployment, const FirstHours& heard) {
    const nlohmann::json json = {{"segments", heard.segments},
                                 {"dead", heard.dead},
                                 {"level_dbfs", json_number(heard.level_dbfs)},
                                 {"floor_dbfs", json_number(heard.floor_dbfs)},
                                 {"spread_db", json_number(heard.spread_db)}};
    store.keep_result({kept_name(deployment), "", json_text(json)});
}

std::optional<FirstHours> kept_first_hours(const Store& store, const std::string& deployment) {
    const auto kept = store.kept_result(kept_name(deployment));
    if (!kept) return {};
    const auto json = read_json_if_any(kept->json);
    if (!json.is_object()) return {};
    FirstHours heard;
    heard.segments = static_cast<int>(json.value("segments", 0));
    heard.dead = static_cast<int>(json.value("dead", 0));
    heard.level_dbfs = number_in(json.value("level_dbfs", nlohmann::json()));
    heard.floor_dbfs = number_in(json.value("floor_dbfs", nlohmann::json()));
    heard.spread_db = number_in(json.value("spread_db", nlohmann::json()));
    return heard;
}

}  // namespace hearwood

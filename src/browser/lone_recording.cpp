#include "browser/lone_recording.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "base/csv_cell.h"
#include "base/missing.h"
#include "base/text.h"
#include "index/catalogue.h"
#include "screen/quantities.h"
#include "screen/rules.h"

namespace hearwood {
namespace {

/// Columns before and behind the measured ones; tests/browser holds them against segments.csv.
constexpr const char* kBefore[] = {"site",       "stand",
                                   "deployment", "file",
                                   "channel",    "segment",
                                   "start_utc",  "start_local",
                                   "date",       "hour",
                                   "duration_s", "complete",
                                   "window",     "minutes_from_sunrise"};
constexpr const char* kBehind[] = {"even_aci",    "even_ndsi", "even_bi", "even_standout",
                                   "even_events", "flags",     "kept",    "reasons"};
constexpr std::size_t kEven = 5;

std::vector<std::string> measured_columns() {
    std::vector<std::string> names;
    for (const Column& column : index_columns(MeasureSettings{})) names.push_back(column.name);
    for (const Column& column : quantity_columns()) names.push_back(column.name);
    return names;
}

/// How each segment is judged, parallel to the rows; its neighbours are those of its channel.
std::vector<Judgement> judgements(const std::vector<SegmentRow>& rows, double rate) {
    const std::vector<std::string> columns = measured_columns();
    const ScreenSettings settings;
    const Screens screens(settings, columns);
    std::map<int, std::vector<std::size_t>> channels;
    for (std::size_t i = 0; i < rows.size(); ++i) channels[rows[i].channel].push_back(i);
    std::vector<Judgement> judged(rows.size());
    for (const auto& [channel, places] : channels) {
        std::vector<double> starts, scores;
        for (const std::size_t i : places) {
            starts.push_back(static_cast<double>(rows[i].first_sample) / rate);
            scores.push_back(screens.rain_score(rows[i].values));
        }
        const std::vector<double> nearby =
            nearby_rain(starts, scores, settings.rain_nearby_minutes);
        for (std::size_t k = 0; k < places.size(); ++k) {
            const SegmentRow& row = rows[places[k]];
            SegmentContext context;
            context.complete = row.complete;
            context.rain_nearby = nearby[k];
            judged[places[k]] = screens.judge(row.values, context);
        }
    }
    return judged;
}

}  // namespace

std::string lone_segments_header() {
    std::vector<std::string> header(std::begin(kBefore), std::end(kBefore));
    const std::vector<std::string> measured = measured_columns();
    header.insert(header.end(), measured.begin(), measured.end());
    header.insert(header.end(), std::begin(kBehind), std::end(kBehind));
    return csv_line(header);
}

Survey& LoneRecording::defaults() {
    static Survey survey;
    return survey;
}

LoneRecording::LoneRecording(std::filesystem::path path, const std::string& name)
    : path_(std::move(path)), measurer_(MeasureSettings{}) {
    row_.path = name_to_utf8(name);
    file_ = RecordingFacts(defaults(), "").open(path_, row_);
    if (!file_) return;
    damages_ = file_->file().damages();
    // Without a start nothing belongs to an hour; its numbers are measured here all the same.
    const bool no_start = row_.state == RecordingState::no_start_time;
    if (row_.state != RecordingState::pending && !no_start) return;
    const SegmentLayout layout = measurer_.layout(file_->info());
    segments_ = layout.count();
    if (segments_ == 0) {
        row_.state = RecordingState::unreadable;
        row_.reason = fmt::format("too short: {} samples, and one frame has {}", layout.frames,
                                  layout.shortest);
    }
}

void LoneRecording::measure_next() {
    measurer_.measure(
        *file_, next_, next_ + 1, [] { return false; },
        [this](MeasuredSegment&& segment) { rows_.push_back(std::move(segment.row)); }, losses_);
    ++next_;
}

std::string LoneRecording::facts() const {
    RecordingRow row = row_;
    if (segments_ > 0 && next_ == segments_ && row.state == RecordingState::pending)
        RecordingFacts::conclude(row, damages_, losses_);
    double clipped = kMissing;
    const std::vector<std::string> columns = measured_columns();
    const auto place = static_cast<std::size_t>(
        std::find(columns.begin(), columns.end(), "clipped_fraction") - columns.begin());
    for (const SegmentRow& one : rows_)
        if (place < one.values.size()) clipped = std::fmax(clipped, one.values[place]);
    nlohmann::json facts{
        {"name", printable(name_from_utf8(row.path))},
        {"state", word(row.state)},
        {"reason", row.reason},
        {"start", row.start ? format_local(*row.start) : ""},
        {"rate", row.sample_rate},
        {"channels", row.channels},
        {"bits", row.bits},
        {"format", row.format},
        {"seconds", row.sample_rate > 0 ? static_cast<double>(row.frames) / row.sample_rate : 0},
        {"lost_s", row.lost_s},
        {"segments", segments_},
        {"done", next_}};
    facts["clipped"] = is_missing(clipped) ? nlohmann::json() : nlohmann::json(clipped);
    return facts.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::string LoneRecording::lines() const {
    std::string text;
    const double rate = row_.sample_rate;
    const std::vector<Judgement> judged = judgements(rows_, rate);
    for (std::size_t i = 0; i < rows_.size(); ++i) {
        const SegmentRow& row = rows_[i];
        const double duration = static_cast<double>(row.samples) / rate;
        std::vector<TableCell> cells{
            {}, {}, {}, row_.path, std::int64_t{row.channel}, std::int64_t{row.segment}};
        cells.resize(std::size(kBefore));
        if (row_.start) {
            const auto at = [&](double samples) {
                return *row_.start + std::chrono::milliseconds(std::llround(samples / rate * 1000));
            };
            const LocalTime start = at(static_cast<double>(row.first_sample));
            const LocalTime middle =
                at(static_cast<double>(row.first_sample) + static_cast<double>(row.samples) / 2);
            const auto day = std::chrono::floor<std::chrono::days>(middle);
            cells[7] = format_local(start);
            cells[8] = format_date(day);
            cells[9] = static_cast<std::int64_t>((middle - day) / std::chrono::hours(1));
        }
        cells[10] = duration;
        cells[11] = std::int64_t{row.complete};
        for (const double value : row.values)
            cells.push_back(is_missing(value) ? TableCell{} : TableCell{value});
        cells.resize(cells.size() + kEven);
        cells.push_back(judged[i].flags.text());
        cells.push_back(std::int64_t{judged[i].kept()});
        cells.push_back(judged[i].reasons.text());
        text += csv_line(cells);
    }
    return text;
}

}  // namespace hearwood

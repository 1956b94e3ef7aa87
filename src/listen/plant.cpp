#include "listen/plant.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>
#include <variant>

#include "audio/stretch.h"
#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/lines.h"
#include "base/missing.h"
#include "base/progress.h"
#include "base/text.h"
#include "index/catalogue.h"
#include "index/engine/segment_analyser.h"
#include "index/index_values.h"
#include "listen/call_sounds.h"
#include "listen/candidates.h"
#include "listen/lowest.h"
#include "listen/sheet.h"
#include "spectrum/frequency_grid.h"
#include "statistics/random.h"
#include "statistics/rank_correlation.h"

namespace hearwood {
namespace {

constexpr int kMostCalls = kPlantRates[std::size(kPlantRates) - 1];

/// The quietest kept segments without a flag, one from each site in turn.
std::vector<Candidate> quiet_segments(const ListeningCandidates& candidates, int count) {
    const auto most = static_cast<std::size_t>(count);
    using Level = std::pair<double, std::uint64_t>;  // of equally quiet ones the lower name
    std::map<std::size_t, Lowest<Level, Candidate>> sites;
    candidates([&](const Candidate& candidate) {
        if (!candidate.kept || !candidate.flags.empty() || is_missing(candidate.leq_dbfs)) return;
        sites.try_emplace(candidate.site, Lowest<Level, Candidate>(most))
            .first->second.add({candidate.leq_dbfs, candidate.name}, candidate);
    });
    std::vector<std::pair<std::pair<std::size_t, Level>, Candidate>> by_turn;
    for (auto& [site, quietest] : sites) {
        std::size_t turn = 0;
        for (const auto& [level, candidate] : quietest.take())
            by_turn.push_back({{turn++, level}, candidate});
    }
    std::sort(by_turn.begin(), by_turn.end(),
              [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<Candidate> chosen;
    for (const auto& [turn, candidate] : by_turn)
        if (chosen.size() < most) chosen.push_back(candidate);
    return chosen;
}

/// Where each call of a minute goes and which it is: the calls of a low rate are the first of a
/// high one, so that only the rate differs.
struct Planting {
    double at = 0;  ///< share of the segment
    std::size_t call = 0;
};

std::vector<Planting> plantings_for(std::size_t calls, int count, Random& random) {
    std::vector<Planting> plan;
    for (int i = 0; i < count; ++i)
        plan.push_back({random.uniform(), static_cast<std::size_t>(random.below(calls))});
    return plan;
}

void mix(std::vector<float>& samples, const Call& call, double at, double gain) {
    const std::size_t room = samples.size() > call.size() ? samples.size() - call.size() : 0;
    const auto start = static_cast<std::size_t>(at * static_cast<double>(room));
    for (std::size_t i = 0; i < call.size() && start + i < samples.size(); ++i)
        samples[start + i] += static_cast<float>(gain * call[i]);
}

/// Measures samples in memory under the survey's settings.
class Meter {
  public:
    Meter(const MeasureSettings& settings, double rate)
        : settings_(settings), grid_(rate, settings.frame), analyser_(settings, rate) {
        const std::vector<Column> columns = index_columns(settings);
        for (std::size_t i = 0; i < columns.size(); ++i)
            if (columns[i].kind == Column::Kind::index) wanted_columns_.push_back(i);
    }

    std::vector<double> indices(const std::vector<float>& samples) {
        const std::vector<double> all = index_values(measured(samples), settings_);
        std::vector<double> result;
        for (const std::size_t column : wanted_columns_) result.push_back(all[column]);
        return result;
    }

    /// Root mean square in 1 to 8 kHz, or up to half the sample rate.
    double band_amplitude(const std::vector<float>& samples) {
        const SegmentSummary& summary = measured(samples);
        const BinRange bins = grid_.bins_in(1000, 8000);
        double power = 0;
        for (int k = bins.first; k < bins.last; ++k)
            power += summary.mean_power[k] * grid_.bin_width();
        return std::sqrt(power);
    }

  private:
    const SegmentSummary& measured(const std::vector<float>& samples) {
        analyser_.begin(0);
        analyser_.add(std::span<const float>(samples));
        return analyser_.finish();
    }

    MeasureSettings settings_;
    FrequencyGrid grid_;
    SegmentAnalyser analyser_;
    std::vector<std::size_t> wanted_columns_;
};

std::vector<Call> calls_for(const PlantOptions& options, double rate, Random& random,
                            std::vector<std::string>& missing) {
    std::vector<Call> calls = options.calls.empty() ? synthetic_calls(rate, random)
                                                    : calls_in(options.calls, rate, missing);
    if (calls.empty())
        throw InputError(options.calls + ": no file of this folder opens as sound",
                         "name a folder of WAV, FLAC or Ogg files of single calls");
    return calls;
}

void plant_in(const Candidate& segment, const RecordingRow& recording,
              const std::vector<float>& quiet, const std::vector<Call>& calls, Meter& meter,
              Random& random, PlantSummary& summary) {
    const double minutes = static_cast<double>(quiet.size()) / recording.sample_rate / 60;
    const double amplitude = meter.band_amplitude(quiet);
    const auto plan =
        plantings_for(calls.size(), static_cast<int>(std::ceil(kMostCalls * minutes)), random);
    for (const int level : kPlantLevels) {
        const double gain = amplitude * std::pow(10, level / 20.0);
        std::vector<float> mixed = quiet;
        std::size_t done = 0;
        for (const int rate : kPlantRates) {
            const auto wanted = static_cast<std::size_t>(std::lround(rate * minutes));
            for (; done < std::min(wanted, plan.size()); ++done)
                mix(mixed, calls[plan[done].call], plan[done].at, gain);
            summary.values.push_back({recording.path, segment.channel, segment.segment, rate, level,
                                      meter.indices(mixed)});
        }
    }
}

/// The index's change since rate 0 in every segment at one level, and the spread of its values at
/// rate 0.
PlantResponse response(const PlantSummary& summary, std::size_t index, int level) {
    std::vector<double> rates, changes, at_zero;
    std::map<int, std::vector<double>> by_rate;
    double zero = kMissing;
    for (const PlantedValue& value : summary.values) {
        if (value.level != level) continue;
        const double now = value.values[index];
        if (value.rate == 0) zero = now;
        if (value.rate == 0 && !is_missing(zero)) at_zero.push_back(zero);
        if (is_missing(now) || is_missing(zero)) continue;
        rates.push_back(value.rate);
        changes.push_back(now - zero);
        by_rate[value.rate].push_back(now - zero);
    }
    PlantResponse result{summary.indices[index], level,
                         weighted_spearman(rates, changes, std::vector<double>(rates.size(), 1.0)),
                         0};
    const auto mean = [](const std::vector<double>& v) {
        double sum = 0;
        for (const double x : v) sum += x;
        return v.empty() ? kMissing : sum / static_cast<double>(v.size());
    };
    double squares = 0;
    const double middle = mean(at_zero);
    for (const double x : at_zero) squares += (x - middle) * (x - middle);
    if (at_zero.size() < 2) return result;
    const double spread = std::sqrt(squares / static_cast<double>(at_zero.size() - 1));
    for (auto rate = by_rate.rbegin(); rate != by_rate.rend() && rate->first > 0; ++rate) {
        if (!(std::abs(mean(rate->second)) > spread)) break;
        result.first_rate = rate->first;
    }
    return result;
}

}  // namespace

PlantSummary plant_calls(const Survey& survey, const Store& store, const PlantOptions& options) {
    PlantSummary summary;
    for (const Column& column : index_columns(survey.measure))
        if (column.kind == Column::Kind::index) summary.indices.push_back(column.name);
    const std::vector<Candidate> segments =
        quiet_segments(ListeningCandidates(survey, store, "aci"), options.segments);
    const auto recordings = recordings_of(segments, store);
    std::map<int, std::vector<Call>> calls;
    std::map<int, Meter> meters;
    Random random(options.seed, "planted calls");
    Progress progress("planting", "segments", segments.size(), options.quiet);
    for (const Candidate& segment : segments) {
        stop_if_interrupted();
        const RecordingRow& recording = recordings.at(segment.recording);
        const int rate = recording.sample_rate;
        auto sound = read_stretch(survey.folder / name_from_utf8(recording.path), segment.channel,
                                  segment.first_sample, segment.samples);
        progress.add();
        if (const auto* why = std::get_if<std::string>(&sound)) {
            summary.missing.push_back(recording.path + ": " + *why);
            continue;
        }
        if (!calls.contains(rate)) calls[rate] = calls_for(options, rate, random, summary.missing);
        Meter& meter =
            meters.try_emplace(rate, survey.measure, static_cast<double>(rate)).first->second;
        plant_in(segment, recording, std::get<Stretch>(sound).samples, calls[rate], meter, random,
                 summary);
    }
    progress.finish();
    if (summary.values.empty())
        throw InputError(
            "no quiet segment to plant calls into",
            "measure the survey first; a segment must be complete, kept and without a flag");
    for (const int level : kPlantLevels)
        for (std::size_t i = 0; i < summary.indices.size(); ++i)
            summary.responses.push_back(response(summary, i, level));
    return summary;
}

std::filesystem::path planted_file(const std::filesystem::path& survey_folder) {
    return survey_folder / "hearwood" / "planted.csv";
}

TableOf<PlantedValue> planted_table(const std::vector<std::string>& indices) {
    using Row = PlantedValue;
    TableOf<Row> table("planted.csv", "planted calls",
                       "A row is a segment with calls planted at a rate and a level.");
    table.column("recording", "", "path from the survey folder", &Row::recording)
        .column("channel", "1", "channel of the recording, counted from 0", &Row::channel)
        .column("segment", "1", "segment of the recording, counted from 0", &Row::segment)
        .column("calls_per_minute", "1/min", "calls planted a minute", &Row::rate)
        .column("level_db", "dB", "of a call against the segment's own in 1 to 8 kHz", &Row::level);
    for (std::size_t i = 0; i < indices.size(); ++i)
        table.column(indices[i], "", "the index, measured again",
                     [i](const Row& row) { return row.values[i]; });
    return table;
}

TableOf<PlantResponse> planted_responses_table() {
    using Row = PlantResponse;
    return TableOf<Row>("planted_responses.csv", "responses to planted calls",
                        "A row is an index and a level: does it rise with the rate?")
        .column("index", "", "column of the tables", &Row::index)
        .column("level_db", "dB", "of a call against the segment's own in 1 to 8 kHz", &Row::level)
        .column("rho", "1", "Spearman's rank correlation of the index's change with the rate",
                &Row::rho)
        .column("first_rate", "1/min",
                "rate from which on the mean change exceeds the spread between segments; empty: "
                "none",
                [](const Row& row) {
                    return row.first_rate > 0 ? std::optional(row.first_rate) : std::nullopt;
                });
}

void write_planting_tables(const Survey& survey, const PlantSummary& summary) {
    const std::filesystem::path file = planted_file(survey.folder);
    make_folder(file.parent_path());
    write_table(planted_table(summary.indices), summary.values, file);
    write_table(planted_responses_table(), summary.responses,
                file.parent_path() / "planted_responses.csv");
}

std::string planting_summary(const PlantSummary& summary) {
    std::string text = wrapped(
        "rank correlation of each index with the calls planted a minute (0 to 32), by the calls' "
        "level against the segment's own in 1 to 8 kHz; in brackets the rate from which on the "
        "change is larger than the difference between quiet segments");
    text += fmt::format("  {:<24}", "index");
    for (const int level : kPlantLevels)
        text += fmt::format(" {:>14}", fmt::format("{:+} dB", level));
    for (const std::string& index : summary.indices) {
        text += fmt::format("\n  {:<24}", index);
        for (const PlantResponse& row : summary.responses)
            if (row.index == index)
                text += fmt::format(
                    " {:>14}",
                    fmt::format("{} ({})",
                                is_missing(row.rho) ? "n/a" : fmt::format("{:.2f}", row.rho),
                                row.first_rate > 0 ? std::to_string(row.first_rate) : "none"));
    }
    text += "\n";
    for (const std::string& missing : summary.missing)
        text += wrapped("left out: " + printable(missing), 2);
    return text;
}

}  // namespace hearwood

#include "aggregate/sound_path.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "base/sha256.h"
#include "base/text.h"
#include "store/json.h"

namespace hearwood {
namespace {

using Json = nlohmann::json;  // keys are always sorted

/// Raised when what is kept, or how it is found, changes.
constexpr int kPathVersion = 1;

/// Distances that are held against each other between sites; the first that all have.
constexpr double kCommonDistances[] = {30, 25};

PathLoss loss_of(const Json& json) {
    PathLoss loss;
    json.at("site").get_to(loss.site);
    json.at("deployment").get_to(loss.deployment);
    json.at("distance_m").get_to(loss.distance_m);
    json.at("band_hz").get_to(loss.band_hz);
    loss.received_db = number_in(json.at("received_db"));
    loss.loss_db = number_in(json.at("loss_db"));
    loss.se_db = number_in(json.at("se_db"));
    json.at("chirps").get_to(loss.chirps);
    json.at("played").get_to(loss.played);
    json.at("found").get_to(loss.found);
    json.at("why").get_to(loss.why);
    return loss;
}

/// Deployments that a row of trials.csv may mean.
std::set<std::size_t> deployments_of(const Survey& survey, const std::vector<Trial>& trials) {
    std::set<std::size_t> all;
    for (const Trial& trial : trials)
        for (std::size_t d = 0; d < survey.deployments.size(); ++d)
            if (trial.deployment ? d == *trial.deployment
                                 : survey.deployments[d].site == trial.site)
                all.insert(d);
    return all;
}

Json deployment_json(const Survey& survey, const Store& store, std::size_t d) {
    const Deployment& deployment = survey.deployments[d];
    const auto number = [](const std::optional<double>& value) {
        return value ? Json(*value) : Json(nullptr);
    };
    const auto wall = [](const std::optional<LocalTime>& time) {
        return time ? Json(time->time_since_epoch().count()) : Json(nullptr);
    };
    Json recordings = Json::array();
    store.for_each_recording_of(deployment.name, [&](const RecordingRow& row) {
        recordings.push_back({row.path, row.size, row.mtime_ns, wall(row.start), row.gone});
    });
    return {deployment.name,
            survey.sites[deployment.site].name,
            deployment.clock,
            wall(deployment.start),
            wall(deployment.end),
            number(deployment.clock_error_start_s),
            number(deployment.clock_error_end_s),
            recordings};
}

using Means = std::map<double, std::pair<double, int>>;  ///< sum and count, by band

/// Of a site at a distance.
Means losses_at(const std::vector<PathLoss>& losses, const std::string& site, double distance) {
    Means means;
    for (const PathLoss& loss : losses) {
        if (loss.site != site || loss.distance_m != distance || is_missing(loss.loss_db)) continue;
        auto& [sum, count] = means[loss.band_hz];
        sum += loss.loss_db;
        ++count;
    }
    return means;
}

/// Empty where a band of the trial is missing.
PathCurve curve_of(const Means& means, const std::set<double>& bands) {
    PathCurve curve;
    for (const double band : bands) {
        const auto found = means.find(band);
        if (found == means.end()) return {};
        curve.points.emplace_back(band, found->second.first / found->second.second);
    }
    return curve;
}

}  // namespace

TableOf<PathLoss> path_loss_table() {
    TableOf<PathLoss> table("path_loss.csv", "how far sound carries",
                            "A row is a play of the trial's sound and an octave band (trial.md).");
    return table.column("site", "", "recording site", &PathLoss::site)
        .column("distance_m", "m", "from the speaker to the recorder", &PathLoss::distance_m)
        .column("band_hz", "Hz", "centre of the octave band", &PathLoss::band_hz)
        .column("received_dbfs", "dB",
                "amplitude of the chirps as recorded; 0 is that of a sine at full scale",
                &PathLoss::received_db)
        .column("loss_db", "dB",
                "what the stand takes off beyond spreading: level at 2 m minus level here minus 20 "
                "log10(distance / 2)",
                &PathLoss::loss_db)
        .column("se_db", "dB", "standard error of the loss, from chirp to chirp", &PathLoss::se_db)
        .column("chirps", "1", "chirps of six that stand out from the noise", &PathLoss::chirps)
        .column("deployment", "", "recorder that heard it", &PathLoss::deployment)
        .column("played", "", "date and time in trials.csv", &PathLoss::played)
        .column("found", "", "when the first chirp was found", &PathLoss::found)
        .column("why", "", "why there is no loss", &PathLoss::why);
}

std::string path_losses_json(const std::vector<PathLoss>& losses) {
    Json json = Json::array();
    for (const PathLoss& loss : losses)
        json.push_back({{"site", loss.site},
                        {"deployment", loss.deployment},
                        {"distance_m", loss.distance_m},
                        {"band_hz", loss.band_hz},
                        {"received_db", json_number(loss.received_db)},
                        {"loss_db", json_number(loss.loss_db)},
                        {"se_db", json_number(loss.se_db)},
                        {"chirps", loss.chirps},
                        {"played", loss.played},
                        {"found", loss.found},
                        {"why", loss.why}});
    return json_text(json);
}

std::string trials_fingerprint(const Survey& survey, const Store& store) {
    std::vector<Problem> problems;
    const std::vector<Trial> trials = read_trials(survey, problems);
    if (trials.empty() || any_error(problems)) return {};
    Json json{{"version", kPathVersion},
              {"zone", survey.time_zone},
              {"names", survey.start_time_pattern},
              {"trials", Json::array()},
              {"deployments", Json::array()}};
    for (const Trial& trial : trials)
        json["trials"].push_back(
            {survey.sites[trial.site].name,
             trial.deployment ? survey.deployments[*trial.deployment].name : std::string(),
             trial.time.time_since_epoch().count(), trial.distance_m});
    for (const std::size_t d : deployments_of(survey, trials))
        json["deployments"].push_back(deployment_json(survey, store, d));
    return sha256_of(json_text(json));
}

KeptTrials read_kept_trials(const Survey& survey, const Store& store) {
    KeptTrials trials;
    const auto kept = store.kept_result(kTrials);
    if (!kept) return trials;
    trials.state = KeptTrials::State::old;
    if (kept->fingerprint != trials_fingerprint(survey, store)) return trials;
    try {
        for (const Json& row : read_json(kept->json)) trials.losses.push_back(loss_of(row));
        trials.state = KeptTrials::State::current;
    } catch (const Json::exception&) {
        trials.losses.clear();  // written by something else: found again by the next trial
    }
    return trials;
}

double PathCurve::at(double hz) const {
    if (hz <= points.front().first) return points.front().second;
    for (std::size_t i = 1; i < points.size(); ++i) {
        const auto& [low, at_low] = points[i - 1];
        const auto& [high, at_high] = points[i];
        if (hz <= high)
            return at_low + (at_high - at_low) * std::log(hz / low) / std::log(high / low);
    }
    return points.back().second;
}

std::optional<std::vector<PathCurve>> path_curves(const Survey& survey,
                                                  const std::vector<PathLoss>& losses,
                                                  const std::vector<std::size_t>& sites,
                                                  double sample_rate, std::string& lacks) {
    std::set<double> bands;
    for (const PathLoss& loss : losses)
        if (loss.band_hz * std::sqrt(2.0) < sample_rate / 2) bands.insert(loss.band_hz);
    lacks = "no trial at 25 or 30 m";
    if (bands.empty()) return {};
    for (const double distance : kCommonDistances) {
        std::vector<PathCurve> curves;
        std::vector<std::string> without;
        for (const std::size_t site : sites) {
            const std::string& name = survey.sites[site].name;
            PathCurve curve = curve_of(losses_at(losses, name, distance), bands);
            if (curve.points.empty())
                without.push_back(name);
            else
                curves.push_back(std::move(curve));
        }
        if (without.empty()) return curves;
        if (!curves.empty())
            lacks = fmt::format("no trial in every band at {} m for {}", format_number(distance),
                                join(without, ", "));
    }
    return {};
}

}  // namespace hearwood

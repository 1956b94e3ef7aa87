#include "activity/trial.h"

#include <fmt/format.h>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <optional>
#include <span>
#include <utility>

#include "activity/trial_search.h"
#include "aggregate/judged_segments.h"
#include "audio/audio_file.h"
#include "base/interrupt.h"
#include "base/lines.h"
#include "base/missing.h"
#include "base/progress.h"
#include "base/text.h"
#include "measure/survey_walk.h"

namespace hearwood {
namespace {

using Seconds = std::chrono::duration<double>;

/// The program looks so far around the time of a row.
constexpr Seconds kAround = std::chrono::minutes(10);
/// Rows of a recorder nearer than this are looked for together, with one error of the clock.
constexpr auto kOneSession = std::chrono::minutes(20);
/// A play begins within the minute that its row names; this far off it once the clock's error is
/// taken away.
constexpr double kMinute = 60, kSlack = 30;

/// Plays that somebody noted one after another beside one recorder.
struct Session {
    std::size_t site = 0;
    std::optional<std::size_t> deployment;
    std::vector<const Trial*> trials;  ///< by time
};

/// A play that was found.
struct FoundPlay {
    double at_s = 0;  ///< true time of its first chirp, from the time of the session's first row
    Instant begin;
    double score = 0;
    std::string deployment;
    ReceivedBands bands;
};

/// What is known of each row: the play that is it, if any.
struct Heard {
    std::vector<std::optional<FoundPlay>> plays;  ///< parallel to Session::trials
    bool recorded = false;                        ///< a recorder ran at some time of the search
};

std::vector<Session> sessions_of(const std::vector<Trial>& trials) {
    std::vector<Session> sessions;
    for (const Trial& trial : trials) {
        const bool goes_on = !sessions.empty() && sessions.back().site == trial.site &&
                             sessions.back().deployment == trial.deployment &&
                             trial.time - sessions.back().trials.back()->time <= kOneSession;
        if (!goes_on) sessions.push_back({trial.site, trial.deployment, {}});
        sessions.back().trials.push_back(&trial);
    }
    return sessions;
}

/// A play is clear when its score is at least this share of the clearest one's.
constexpr double kClear = 1.0 / 3;

class SessionSearch {
  public:
    SessionSearch(const Survey& survey, const std::vector<std::vector<KnownRecording>>& recordings,
                  const Zone& zone, const Session& session)
        : survey_(survey),
          recordings_(recordings),
          session_(session),
          first_(zone.to_utc(session.trials.front()->time)) {
        for (const Trial* trial : session.trials)
            times_.push_back(Seconds(zone.to_utc(trial->time) - first_).count());
    }

    Heard search() {
        Heard heard;
        for (std::size_t d = 0; d < survey_.deployments.size(); ++d) {
            if (session_.deployment ? d != *session_.deployment
                                    : survey_.deployments[d].site != session_.site)
                continue;
            for (const KnownRecording& recording : recordings_[d]) look_into(recording, heard);
        }
        heard.plays = assign(once_each());
        return heard;
    }

  private:
    /// Plays of a recording that runs while the search does.
    void look_into(const KnownRecording& recording, Heard& heard) {
        if (!recording.start || recording.row.gone || recording.has(Oddity::duplicate)) return;
        const double rate = recording.row.sample_rate;
        const double start = Seconds(*recording.start - first_).count();
        const double from = std::max(-kAround.count() - start, 0.0);
        const double to =
            std::min(times_.back() + kAround.count() + kMinute + trial_seconds() - start,
                     recording.duration_s());
        if (rate <= 0 || to <= from) return;
        heard.recorded = true;
        auto opened = open_audio(disk_path(survey_, recording.row));
        auto* file = std::get_if<AudioFile>(&opened);
        if (!file || file->info().sample_rate != recording.row.sample_rate) return;
        const std::int64_t first = std::llrint(from * rate), last = std::llrint(to * rate);
        std::vector<float> frames;
        const auto read = [&](std::int64_t at, std::span<float> samples) {
            const auto channels = static_cast<std::size_t>(file->info().channels);
            frames.resize(samples.size() * channels);
            if (file->read_float(static_cast<std::uint64_t>(first + at), frames.data(),
                                 samples.size()) != samples.size())
                return false;
            for (std::size_t n = 0; n < samples.size(); ++n) {
                const float x = frames[n * channels];
                samples[n] = std::isfinite(x) ? x : 0;
            }
            return true;
        };
        TrialSearch search(rate);
        for (const TrialPlay& play : search.find(read, last - first)) {
            FoundPlay found{start + from + play.start_s,
                            {},
                            play.score,
                            recording.row.deployment,
                            search.measure(read, last - first, play)};
            found.begin = first_ + to_milliseconds(found.at_s);
            found_.push_back(std::move(found));
        }
    }

    /// A play that goes over the end of a file into the next is that of the better part.
    std::vector<FoundPlay> once_each() {
        std::stable_sort(found_.begin(), found_.end(),
                         [](const auto& a, const auto& b) { return a.at_s < b.at_s; });
        std::vector<FoundPlay> plays;
        for (FoundPlay& play : found_) {
            if (plays.empty() || play.at_s - plays.back().at_s > trial_seconds() / 2)
                plays.push_back(std::move(play));
            else if (play.score > plays.back().score)
                plays.back() = std::move(play);
        }
        return plays;
    }

    /// The loudest play that fits each row, once the clock's error is taken away; rows take plays
    /// in their order, each once.
    std::vector<const FoundPlay*> fitting(const std::vector<FoundPlay>& plays, double error) const {
        std::vector<const FoundPlay*> chosen;
        double after = -std::numeric_limits<double>::infinity();
        for (const double time : times_) {
            const FoundPlay* best = nullptr;
            for (const FoundPlay& play : plays) {
                const double late = play.at_s - time - error;
                if (play.at_s <= after || late < -kSlack || late > kMinute + kSlack) continue;
                if (!best || play.score > best->score) best = &play;
            }
            if (best) after = best->at_s;
            chosen.push_back(best);
        }
        return chosen;
    }

    /// Under the clock's error with which most rows have a clear play; of several the smallest.
    /// Among many calls some moments look like a faint play: where a row has a clear one, they
    /// count for nothing.
    std::vector<std::optional<FoundPlay>> assign(const std::vector<FoundPlay>& plays) const {
        std::vector<double> errors{0};
        for (const FoundPlay& play : plays)
            for (const double time : times_)
                if (const double error = play.at_s - time - kMinute / 2;
                    std::abs(error) <= kAround.count())
                    errors.push_back(error);
        std::stable_sort(errors.begin(), errors.end(),
                         [](double a, double b) { return std::abs(a) < std::abs(b); });
        double clearest = 0;
        for (const FoundPlay& play : plays) clearest = std::max(clearest, play.score);
        std::vector<const FoundPlay*> best;
        std::ptrdiff_t most = -1;
        for (const double error : errors) {
            std::vector<const FoundPlay*> chosen = fitting(plays, error);
            const auto count = std::count_if(
                chosen.begin(), chosen.end(),
                [&](const FoundPlay* play) { return play && play->score >= kClear * clearest; });
            if (count <= most) continue;
            most = count;
            best = std::move(chosen);
        }
        std::vector<std::optional<FoundPlay>> assigned;
        for (const FoundPlay* play : best)
            assigned.push_back(play ? std::optional(*play) : std::nullopt);
        return assigned;
    }

    const Survey& survey_;
    const std::vector<std::vector<KnownRecording>>& recordings_;
    const Session& session_;
    Instant first_;
    std::vector<double> times_;  ///< of the rows, from the first
    std::vector<FoundPlay> found_;
};

/// From Heard to rows of the table.
class LossRows {
  public:
    LossRows(const Survey& survey, const Zone& zone) : survey_(survey), zone_(zone) {}

    void add(const Session& session, const Heard& heard) {
        for (std::size_t i = 0; i < session.trials.size(); ++i)
            for (std::size_t band = 0; band < kTrialBands.size(); ++band)
                rows_.push_back(row(session, heard, i, band));
    }
    std::vector<PathLoss> finish() { return std::move(rows_); }

  private:
    /// The play at 2 m whose row is nearest in time.
    static std::optional<std::size_t> nearest_to(const Session& session, std::size_t i) {
        std::optional<std::size_t> nearest;
        const auto apart = [&](std::size_t other) {
            return std::chrono::abs(session.trials[other]->time - session.trials[i]->time);
        };
        for (std::size_t other = 0; other < session.trials.size(); ++other)
            if (session.trials[other]->distance_m == kNearestTrialM &&
                (!nearest || apart(other) < apart(*nearest)))
                nearest = other;
        return nearest;
    }

    PathLoss row(const Session& session, const Heard& heard, std::size_t i,
                 std::size_t band) const {
        const Trial& trial = *session.trials[i];
        PathLoss loss;
        loss.site = survey_.sites[session.site].name;
        loss.distance_m = trial.distance_m;
        loss.band_hz = kTrialBands[band];
        loss.played = format_local(trial.time);
        const auto& play = heard.plays[i];
        if (!play) {
            loss.why = heard.recorded ? "not found within ten minutes of its time: drowned in "
                                        "noise, or the time is wrong"
                                      : "nothing was recorded within ten minutes of its time";
            return loss;
        }
        const ReceivedBand& here = play->bands[band];
        loss.deployment = play->deployment;
        loss.found = format_iso(play->begin, zone_);
        loss.chirps = here.chirps;
        loss.received_db = here.level_db;
        loss.why = here.why;
        if (here.why.empty()) take_loss(session, heard, i, band, loss);
        return loss;
    }

    static void take_loss(const Session& session, const Heard& heard, std::size_t i,
                          std::size_t band, PathLoss& loss) {
        const auto reference = nearest_to(session, i);
        if (!reference) {
            loss.why = "no play at 2 m within twenty minutes to hold it against";
            return;
        }
        if (!heard.plays[*reference]) {
            loss.why = "the play at 2 m was not found";
            return;
        }
        const ReceivedBand& here = heard.plays[i]->bands[band];
        const ReceivedBand& near = heard.plays[*reference]->bands[band];
        if (!near.why.empty()) {
            loss.why = "at 2 m: " + near.why;
            return;
        }
        loss.loss_db = near.level_db - here.level_db -
                       20 * std::log10(session.trials[i]->distance_m / kNearestTrialM);
        loss.se_db = *reference == i ? 0 : std::hypot(near.se_db, here.se_db);
    }

    const Survey& survey_;
    const Zone& zone_;
    std::vector<PathLoss> rows_;
};

/// A play whose bands lie side by side; what has no loss says why, once for bands of one reason.
std::string play_text(std::span<const PathLoss> bands, int width) {
    std::string text = fmt::format("{}{}", left(printable(bands.front().site), width + 2),
                                   right(format_number(bands.front().distance_m) + " m", 8));
    std::map<std::string, std::string> missing;  // bands by their reason
    for (const PathLoss& loss : bands) {
        text += right(is_missing(loss.loss_db) ? "-" : fmt::format("{:.1f}", loss.loss_db), 9);
        if (loss.why.empty()) continue;
        std::string& names = missing[loss.why];
        names += (names.empty() ? "" : ", ") + format_number(loss.band_hz / 1000);
    }
    text += "\n";
    for (const auto& [why, names] : missing)
        text += wrapped(fmt::format("    no loss at {} kHz: {}", names, why), 4);
    return text;
}

}  // namespace

std::vector<PathLoss> find_trials(const Survey& survey, const Store& store,
                                  const std::vector<Trial>& trials, const TrialOptions& options) {
    const Placer placer(survey);
    std::vector<std::vector<KnownRecording>> recordings;
    for (std::size_t d = 0; d < survey.deployments.size(); ++d)
        recordings.push_back(recordings_of(survey, store, placer, d));
    const std::vector<Session> sessions = sessions_of(trials);
    std::vector<Heard> heard(sessions.size());
    Progress progress("listening for the trial", "sessions", sessions.size(), options.quiet);
    oneapi::tbb::task_arena arena(options.jobs);
    arena.execute([&] {
        oneapi::tbb::parallel_for(std::size_t{0}, sessions.size(), [&](std::size_t i) {
            heard[i] = SessionSearch(survey, recordings, placer.zone(), sessions[i]).search();
        });
    });
    progress.add(sessions.size());
    progress.finish();
    LossRows rows(survey, placer.zone());
    for (std::size_t i = 0; i < sessions.size(); ++i) rows.add(sessions[i], heard[i]);
    return rows.finish();
}

std::string losses_text(const std::vector<PathLoss>& losses) {
    int width = 4;
    for (const PathLoss& loss : losses)
        width = std::max(width, static_cast<int>(printable(loss.site).size()));
    width = std::min(width, 32);
    std::string text =
        fmt::format("{}{}{}{}{}{}\n", left("dB lost", width + 2), right("from", 8),
                    right("1 kHz", 9), right("2 kHz", 9), right("4 kHz", 9), right("8 kHz", 9));
    const std::size_t bands = kTrialBands.size();
    for (std::size_t i = 0; i + bands <= losses.size(); i += bands) {
        const auto play = std::span(losses).subspan(i, bands);
        const bool heard = std::all_of(play.begin(), play.end(),
                                       [](const PathLoss& loss) { return loss.why.empty(); });
        if (!heard || play.front().distance_m != kNearestTrialM) text += play_text(play, width);
    }
    return text;
}

}  // namespace hearwood

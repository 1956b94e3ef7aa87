// `trial SURVEY`: how far sound carries, from plays that trials.csv names; `trial --make FILE`: the
// sound to play.
#include "activity/trial.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <memory>
#include <span>
#include <string>

#include "activity/trial_sound.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "command/result_tables.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

struct TrialArguments {
    std::string survey, make;
    SharedOptions shared;
};

ExitCode make(const std::string& path) {
    write_trial_sound(path);
    print_wrapped(fmt::format(
        "{} lasts {:.0f} s: chirps in the octave bands around 1, 2, 4 and 8 kHz. Play it at one "
        "volume 2 m from the recorder, then at 25 or 30 m and at 50 m; begin softly, and write "
        "date, time to the minute and distance into trials.csv (docs/trial.md).",
        printable(path), trial_seconds() + 1));
    return ExitCode::ok;
}

std::vector<Trial> trials_of(const Survey& survey) {
    std::vector<Problem> problems;
    std::vector<Trial> trials = read_trials(survey, problems);
    if (any_error(problems)) throw InputError(problems);
    log_line(problems);
    if (trials.empty())
        throw InputError(
            std::string(kTrialsFile) + ": there is none, or it has no rows",
            "write site,date,time,distance_m: a row for each play of the sound of trial --make");
    return trials;
}

/// A play whose bands lie side by side; what has no loss says why, once for bands of one reason.
void print_play(std::span<const PathLoss> bands, int width) {
    fmt::print("{}{}", left(printable(bands.front().site), width + 2),
               right(format_number(bands.front().distance_m) + " m", 8));
    std::map<std::string, std::string> missing;  // bands by their reason
    for (const PathLoss& loss : bands) {
        fmt::print("{}",
                   right(is_missing(loss.loss_db) ? "-" : fmt::format("{:.1f}", loss.loss_db), 9));
        if (loss.why.empty()) continue;
        std::string& names = missing[loss.why];
        names += (names.empty() ? "" : ", ") + format_number(loss.band_hz / 1000);
    }
    fmt::print("\n");
    for (const auto& [why, names] : missing)
        fmt::print("{}", wrapped(fmt::format("    no loss at {} kHz: {}", names, why), 4));
}

/// Losses beyond spreading, dB; plays at 2 m, against which they are, only where one was not heard.
void print_losses(const std::vector<PathLoss>& losses) {
    int width = 4;
    for (const PathLoss& loss : losses) width = std::max(width, static_cast<int>(printable(loss.site).size()));
    width = std::min(width, 32);
    fmt::print("{}{}{}{}{}{}\n", left("dB lost", width + 2), right("from", 8), right("1 kHz", 9),
               right("2 kHz", 9), right("4 kHz", 9), right("8 kHz", 9));
    const std::size_t bands = kTrialBands.size();
    for (std::size_t i = 0; i + bands <= losses.size(); i += bands) {
        const auto play = std::span(losses).subspan(i, bands);
        const bool heard = std::all_of(play.begin(), play.end(),
                                       [](const PathLoss& loss) { return loss.why.empty(); });
        if (!heard || play.front().distance_m != kNearestTrialM) print_play(play, width);
    }
}

void keep(const Survey& survey, const std::vector<PathLoss>& losses) {
    Store store = Store::open(survey.folder);
    store.begin();
    store.keep_result({kTrials, trials_fingerprint(survey, store), path_losses_json(losses)});
    store.commit();
    store.make_durable();
}

ExitCode trial(const TrialArguments& options) {
    if (!options.make.empty()) return make(options.make);
    if (options.survey.empty())
        throw InputError("trial needs a survey, or --make and a file",
                         "hearwood trial --make trial.wav writes the sound that is to be played");
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const std::vector<Trial> trials = trials_of(survey);
    const Store store = Store::open_read_only(survey.folder);
    KeptTrials kept = read_kept_trials(survey, store);
    const bool current = kept.state == KeptTrials::State::current;
    if (options.shared.dry_run) {
        print_wrapped(fmt::format("would look for {}", current ? "nothing: it is all known"
                                                               : counted(trials.size(), "play")));
        return ExitCode::ok;
    }
    if (!current) {
        kept.losses =
            find_trials(survey, store, trials, {job_count(options.shared), options.shared.quiet});
        keep(survey, kept.losses);
    }
    const auto turn = lock_results(survey.folder);
    const auto folder = tables_folder(survey.folder);
    make_folder(folder);
    write_table(path_loss_table(), kept.losses, folder / "path_loss.csv");
    write_data_package(survey, store, folder, result_tables());
    print_losses(kept.losses);
    const bool whole = std::all_of(kept.losses.begin(), kept.losses.end(),
                                   [](const PathLoss& loss) { return loss.why.empty(); });
    print_wrapped(
        "hearwood even hears every site through the same path once all sites compared "
        "have a loss in every band at 30 m, or all at 25 m.");
    return whole ? ExitCode::ok : ExitCode::some_unusable;
}

}  // namespace

Run add_trial(CLI::App& program) {
    auto options = std::make_shared<TrialArguments>();
    Command command(program, "trial", "how far sound carries: plays of a known sound, measured");
    command.add_option("survey", options->survey, "survey folder").type_name("SURVEY");
    command.add_option("--make", options->make, "write the sound that is to be played, and end")
        .type_name("FILE.wav");
    add_shared_options(command, options->shared, true);
    command.example(
        "hearwood trial --make trial.wav\n"
        "  hearwood trial ~/surveys/heath-and-alluvium");
    return [options] { return trial(*options); };
}

}  // namespace hearwood

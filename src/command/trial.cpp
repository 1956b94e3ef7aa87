// `trial SURVEY`: how far sound carries, from plays that trials.csv names; `trial --make FILE`: the
// sound to play.
#include "activity/trial.h"

#include <fmt/core.h>

#include <algorithm>
#include <string>

#include "activity/trial_sound.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

struct TrialArguments : SharedOptions {
    std::string make;
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

ExitCode trial(const TrialArguments& options) {
    if (!options.make.empty()) return make(options.make);
    if (options.survey.empty())
        throw InputError("trial needs a survey, or --make and a file",
                         "hearwood trial --make trial.wav writes the sound that is to be played");
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const std::vector<Trial> trials = usable_trials(survey);
    if (trials.empty())
        throw InputError(
            std::string(kTrialsFile) + ": there is none, or it has no rows",
            "write site,date,time,distance_m: a row for each play of the sound of trial --make");
    const Store store = Store::open_read_only(survey.folder);
    KeptTrials kept = read_kept_trials(survey, store);
    const bool current = kept.state == KeptTrials::State::current;
    if (options.dry_run) {
        print_wrapped(fmt::format("would look for {}", current ? "nothing: it is all known"
                                                               : counted(trials.size(), "play")));
        return ExitCode::ok;
    }
    if (!current) {
        kept.losses = find_trials(survey, store, trials, {job_count(options), options.quiet});
        const KeptResult found{kTrials, trials_fingerprint(survey, store),
                               path_losses_json(kept.losses)};
        keep_results(survey.folder, {&found, 1});
    }
    const auto turn = lock_results(survey.folder);
    const auto folder = tables_folder(survey.folder);
    make_folder(folder);
    write_table(path_loss_table(), kept.losses, folder / "path_loss.csv");
    write_data_package(survey, store, folder, result_tables());
    fmt::print("{}", losses_text(kept.losses));
    const bool whole = std::all_of(kept.losses.begin(), kept.losses.end(),
                                   [](const PathLoss& loss) { return loss.why.empty(); });
    print_wrapped(
        "hearwood even hears every site through the same path once all sites compared "
        "have a loss in every band at 30 m, or all at 25 m.");
    return whole ? ExitCode::ok : ExitCode::some_unusable;
}

}  // namespace

Run add_trial(CLI::App& program) {
    CommandOf<TrialArguments> command(program, "trial",
                                      "how far sound carries: plays of a known sound, measured");
    command.add_option("survey SURVEY", command->survey, "survey folder");
    command.add_option("--make FILE.wav", command->make,
                       "write the sound that is to be played, and end");
    command.add_shared_options(true);
    command.example(
        "hearwood trial --make trial.wav\n"
        "  hearwood trial ~/surveys/heath-and-alluvium");
    return command.does(trial);
}

}  // namespace hearwood

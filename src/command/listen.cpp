// `listen SURVEY`: a blind listening sheet; with --score, what the answers say.
#include <fmt/core.h>

#include <algorithm>
#include <chrono>

#include "aggregate/declarations.h"
#include "aggregate/tables.h"
#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "contrast/listening.h"
#include "listen/forget.h"
#include "listen/key.h"
#include "listen/plant.h"
#include "listen/score.h"
#include "listen/sheet.h"
#include "listen/teach.h"
#include "store/store.h"
#include "store/writer_lock.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

struct ListenOptions : SharedOptions {
    SheetOptions sheet;
    std::vector<std::string> score;
    bool teach = false, keep = false;
    bool rescore = false;  ///< the answers kept from the last score
    int plant = 0;
    std::string calls;
    std::string forget;  ///< a clip
};

ExitCode draw(const ListenOptions& options, const Survey& survey, const Store& store) {
    SheetOptions sheet = options.sheet;
    if (sheet.index.empty()) sheet.index = index_to_listen_by(survey);
    sheet.quiet = options.quiet;
    if (options.dry_run) {
        const std::size_t clips = draw_for_sheet(survey, store, sheet).size();
        print_wrapped(fmt::format("would cut {} into {}", counted(clips, "clip"),
                                  printable(listening_folder(survey.folder).string())));
        return ExitCode::ok;
    }
    const auto turn = lock_results(survey.folder);
    const SheetSummary summary = make_listening_sheet(survey, store, sheet);
    print_wrapped(
        fmt::format("{} of kept segments, {} of segments that weather "
                    "or engines excluded, {} of them twice",
                    counted(summary.clips, "clip"), summary.screened, summary.repeats));
    for (const std::string& missing : summary.missing)
        log_line(fmt::format("no clip of {}", printable(missing)));
    if (summary.mixed_rates)
        log_line(fmt::format(
            "the sites were recorded at different sample rates: all clips were brought to "
            "{} Hz, so that none can be told by it, and what lies above {} Hz cannot be "
            "heard",
            summary.sound_rate, summary.sound_rate / 2));
    fmt::print("open {} in a browser\n", printable(summary.page.string()));
    fmt::print("leave {} closed until all have listened\n",
               printable(listening_key(survey.folder).string()));
    print_wrapped(
        "people may be heard: to silence a voice in the recordings, see "
        "hearwood forget --help");
    return summary.missing.empty() ? ExitCode::ok : ExitCode::some_unusable;
}

void print_voices(const ListeningScore& result) {
    if (result.voices.empty()) return;
    fmt::print("\n{}", wrapped(fmt::format(
                           "people were heard in {}: {}; where a voice must not be kept, "
                           "hearwood listen SURVEY --forget CLIP silences it",
                           counted(result.voices.size(), "clip"), join(result.voices, ", "))));
}

ExitCode score(const ListenOptions& options, const Survey& survey, const Store& store) {
    const std::vector<std::filesystem::path> files(options.score.begin(), options.score.end());
    const std::vector<Answer> answers =
        files.empty() ? kept_answers(survey, store) : answers_in(survey, files);
    const ListeningScore result = score_listening(survey, store, answers);
    for (const std::string& lost : result.lost)
        log_line(fmt::format("clip {}: its segment is no longer measured; the clip is left out",
                             printable(lost)));
    fmt::print("{}", listening_summary(survey, result));
    if (options.dry_run) {
        print_voices(result);
        return ExitCode::ok;
    }
    keep_score(survey, store, answers, result);
    const auto turn = lock_results(survey.folder);
    write_listening_tables(survey, result);
    const std::filesystem::path tables = tables_folder(survey.folder);
    write_data_package(survey, store, tables, result_tables());
    fmt::print("\n{}",
               wrapped(listening_sentence_of(result.follows, survey.contrast.primary_index)));
    fmt::print("written to {}: contrast and report carry it from now on\n",
               printable(tables.string()));
    print_voices(result);
    return result.lost.empty() ? ExitCode::ok : ExitCode::some_unusable;
}

ExitCode teach(const ListenOptions& options, const Survey& survey, const Store& store) {
    const std::vector<TaughtScreen> screens =
        teach_screens(survey, store, kept_answers(survey, store));
    fmt::print("{}", taught_summary(screens));
    const bool any = std::any_of(screens.begin(), screens.end(), [](const TaughtScreen& screen) {
        return screen.rule.has_value();
    });
    if (!any) return ExitCode::some_unusable;
    if (!options.keep || options.dry_run) {
        print_wrapped(
            "Nothing was changed. With --keep the taught rules go into survey.toml, in the place "
            "of those that come with the program; keep them only where they do better here.");
        return ExitCode::ok;
    }
    keep_taught_rules(survey, screens,
                      format_date(std::chrono::floor<std::chrono::days>(
                          Zone::named(survey.time_zone).to_local(current_time()).time)));
    print_wrapped(
        "The taught rules stand in survey.toml: [taught_rain], [taught_engine], [taught_wind]. "
        "Take "
        "a section out to have the program's own rule again. What is kept now differs: run "
        "hearwood run SURVEY.");
    return ExitCode::ok;
}

ExitCode plant(const ListenOptions& options, const Survey& survey, const Store& store) {
    PlantOptions how;
    how.segments = options.plant;
    how.calls = options.calls;
    how.seed = options.sheet.seed;
    how.quiet = options.quiet;
    const PlantSummary summary = plant_calls(survey, store, how);
    fmt::print("{}", planting_summary(summary));
    if (options.dry_run) return ExitCode::ok;
    const auto turn = lock_results(survey.folder);
    write_planting_tables(survey, summary);
    fmt::print("written to {}\n", printable(planted_file(survey.folder).string()));
    return summary.missing.empty() ? ExitCode::ok : ExitCode::some_unusable;
}

ExitCode listen(const ListenOptions& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    if (!options.forget.empty())
        return forget(survey.folder, request_for_clip(survey.folder, options.forget),
                      options.dry_run);
    const Store store = Store::open_read_only(survey.folder);
    if (!options.score.empty() || options.rescore) return score(options, survey, store);
    if (options.teach) return teach(options, survey, store);
    if (options.plant > 0) return plant(options, survey, store);
    return draw(options, survey, store);
}

}  // namespace

Run add_listen(CLI::App& program) {
    CommandOf<ListenOptions> command(program, "listen",
                                     "a blind listening sheet: do the indices mean animals, here?");
    command.add_survey();
    command.add_option("--clips", command->sheet.clips, "clips of kept segments (default 60)")
        .between(1, 2000);
    command
        .add_option(
            "--screened", command->sheet.screened,
            "clips of segments that weather or engines excluded, to judge the screens (default 12)")
        .between(0, 1000);
    command.add_option("--repeats", command->sheet.repeats, "clips that come twice (default 6)")
        .between(0, 1000);
    command.add_option("--seconds", command->sheet.seconds, "length of a clip (default 20)")
        .between(1.0, 600.0);
    command.add_option("--index", command->sheet.index,
                       "index whose low, middle and high segments are drawn alike (default: the "
                       "primary one, events where segments lack it, else aci)");
    command.add_option("--seed", command->sheet.seed, "another sample (default 1)");
    command.add_flag("--force", command->sheet.force, "begin a new sheet where one is");
    CommandOption score_option =
        command.add_option("--score FILE...", command->score, "answers that the page saved")
            .existing_file();
    command
        .add_flag("--rescore", command->rescore,
                  "score the answers of the last --score anew, when what is measured has changed")
        .excludes(score_option);
    CommandOption teach_option =
        command
            .add_flag("--teach", command->teach,
                      "fit rules for rain, engines and wind to what was heard in the last --score, "
                      "and hold them against the program's own")
            .excludes(score_option);
    command.add_flag("--keep", command->keep, "write the taught rules into survey.toml")
        .needs(teach_option);
    CommandOption plant_option =
        command
            .add_option("--plant N", command->plant,
                        "mix calls into copies of N quiet segments at known "
                        "rates and levels, and measure them")
            .between(1, 1000);
    command
        .add_option("--calls", command->calls,
                    "folder with sounds of single calls for --plant (default: synthetic ones)")
        .existing_folder()
        .needs(plant_option);
    command
        .add_option("--forget CLIP", command->forget,
                    "silence a clip's stretch in the archive: a voice must not be kept")
        .excludes(score_option)
        .excludes(plant_option);
    plant_option.excludes(score_option);
    command.add_shared_options(true);
    command.example(
        "hearwood listen ~/surveys/heath-and-alluvium\n"
        "  hearwood listen ~/surveys/heath-and-alluvium --score answers-AB.csv answers-CD.csv");
    return command.does(listen);
}

}  // namespace hearwood

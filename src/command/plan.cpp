// `plan SURVEY`: before going out.
#include "plan/plan.h"

#include <fmt/core.h>

#include <optional>
#include <string>

#include "base/file.h"
#include "base/lines.h"
#include "base/text.h"
#include "command/command.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

struct PlanOptions : SharedOptions {
    std::string from, pilot;
    StatedSchedule schedule;
    std::vector<CommandOption> of_recorder;
    std::optional<double> listening_distance_m;
    bool power = false;
    PowerQuestion power_question;
};

std::optional<PowerAnswer> print_power(const PlanOptions& options, const Survey& survey) {
    if (!options.power) return {};
    std::optional<Survey> pilot;
    if (!options.power_question.spread && !options.pilot.empty())
        pilot = open_survey(options.pilot);
    const PowerAnswer answer = power_of(survey, options.power_question, pilot ? &*pilot : nullptr);
    print_heading("How many sites");
    fmt::print("{}", answer.text);
    return answer;
}

ExitCode plan(const PlanOptions& options) {
    const std::optional<Date> from = date_given(options.from, "--from");
    const Survey survey = open_survey(options.survey);
    StatedSchedule schedule = options.schedule;
    for (const CommandOption& option : options.of_recorder)
        schedule.recorder_stated = schedule.recorder_stated || option.given();
    const Plan plan = planned(survey, schedule, from, options.listening_distance_m);
    fmt::print("{}", plan_text(plan));
    const std::optional<PowerAnswer> power = print_power(options, survey);
    if (options.dry_run) return ExitCode::ok;
    const auto turn = lock_results(survey.folder);
    const auto folder = survey.folder / "hearwood" / "plan";
    make_folder(folder);
    write_plan(plan, folder);
    if (power) write_power(*power, folder / "power.csv");
    fmt::print("\n{}",
               wrapped(fmt::format(
                   "{}: deployment-sheet.html, consent-notice.html and labels.html to print, "
                   "sites.gpx for the receiver, and as tables deployment-sheet, sun-times, budget, "
                   "distances, design{} (.csv)",
                   printable(folder.string()), power ? ", power" : "")));
    return ExitCode::ok;
}

void add_schedule_options(Command& command, PlanOptions& options) {
    Schedule& schedule = options.schedule.recorder;
    options.of_recorder = {
        command.add_option("--rate HZ", schedule.rate_hz, "samples a second")
            .between(1000.0, 1e6)
            .show_default(),
        command.add_option("--bits N", schedule.bits, "bits a sample")
            .one_of({8, 16, 24, 32})
            .show_default(),
        command.add_option("--channels N", schedule.channels, "microphones recorded")
            .between(1, 64)
            .show_default()};
    command
        .add_option("--minutes-per-hour MIN", options.schedule.minutes_per_hour,
                    "minutes recorded in an hour (default: the deployment sheet's most, else 60)")
        .between(0.01, 60.0);
    command
        .add_option("--days N", options.schedule.days,
                    "days out (default: the deployment sheet's longest, else 30)")
        .between(0.01, 3660.0);
    command.add_option("--card-gb GB", schedule.card_gb, "size printed on the card")
        .between(0.01, 1e6);
    command.add_option("--battery-mah MAH", schedule.battery_mah, "capacity printed on the battery")
        .between(1.0, 1e7);
    command.add_option("--record-ma MA", schedule.record_ma, "measured draw while recording")
        .between(0.001, 1e5);
    command.add_option("--sleep-ma MA", schedule.sleep_ma, "measured draw between recordings")
        .between(0.0, 1e5);
}

void add_design_options(Command& command, PlanOptions& options) {
    command
        .add_option("--listening-distance M", options.listening_distance_m,
                    "metres within which two recorders hear the same animals (default: the "
                    "survey's, 250 by common practice)")
        .between(0.0, 1e5);
    PowerQuestion& power = options.power_question;
    command.add_flag("--power", options.power, "how many sites show a difference");
    command
        .add_option("--effect SD", power.effect_sd,
                    "with --power: that difference, in standard deviations of sites")
        .between(0.01, 20.0)
        .show_default();
    command
        .add_option("--most-sites N", power.most_sites,
                    "with --power: largest number of sites a class to try")
        .between(2, 60)
        .show_default();
    CommandOption spread =
        command
            .add_option("--spread VALUE", power.spread,
                        "with --power: standard deviation of site values, in the index's unit")
            .between(1e-12, 1e12);
    command
        .add_option("--pilot SURVEY", options.pilot,
                    "with --power: take that spread from a measured survey (default: this one, "
                    "when it is measured)")
        .excludes(spread);
}

}  // namespace

Run add_plan(CLI::App& program) {
    CommandOf<PlanOptions> command(
        program, "plan",
        "before going out: sun, card, battery, spacing, design and sheets to print");
    command.add_survey();
    command.add_option("--from DATE", command->from,
                       "first date, for sites and deployments that have none yet");
    add_schedule_options(command, *command);
    add_design_options(command, *command);
    command.add_flag("--dry-run", command->dry_run, "show everything, write nothing");
    command.example(
        "hearwood plan ~/surveys/heath-and-alluvium --minutes-per-hour 10 --days 30 "
        "--card-gb 128 \\\n    --battery-mah 9000 --record-ma 35 --sleep-ma 1");
    return command.does(plan);
}

}  // namespace hearwood

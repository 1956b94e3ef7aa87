// `plan SURVEY`: before going out.
#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <memory>
#include <optional>
#include <string>

#include "base/file.h"
#include "base/lines.h"
#include "base/text.h"
#include "command/command.h"
#include "command/open_survey.h"
#include "command/plan_power.h"
#include "command/print.h"
#include "plan/plan_files.h"
#include "plan/plan_tables.h"
#include "plan/plan_text.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

struct PlanOptions {
    std::string survey, from;
    StatedSchedule schedule;
    std::optional<double> listening_distance_m;
    bool power = false;
    PowerOptions power_options;
    bool dry_run = false;
};

std::optional<std::chrono::local_days> first_date(const PlanOptions& options) {
    if (options.from.empty()) return {};
    const auto date = parse_date(options.from);
    if (!date)
        throw InputError("--from '" + options.from + "' is not a date", "write it as 2031-05-04");
    return date;
}

ExitCode plan(const PlanOptions& options) {
    const auto from = first_date(options);
    const Survey survey = open_survey(options.survey);
    Plan plan{survey, options.schedule,
              options.listening_distance_m.value_or(survey.stands.listening_distance_m)};
    const double days = greatest_schedule(survey, plan.schedule).days;
    plan.visits =
        visits_of(survey, from, std::max(1, static_cast<int>(std::lround(days))), plan.undated);
    plan.findings = design_findings(survey, plan.listening_distance_m);

    fmt::print("{}", plan_text(plan));
    std::optional<PowerAnswer> power;
    if (options.power) {
        print_heading("How many sites");
        power = print_power(options.power_options, survey);
    }
    if (options.dry_run) return ExitCode::ok;
    const auto turn = lock_results(survey.folder);
    const auto folder = survey.folder / "hearwood" / "plan";
    make_folder(folder);
    write_plan(plan, folder);
    if (power) write_power(power->power_case, power->steps, power->spread, folder / "power.csv");
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
    command.add_option("--rate", schedule.rate_hz, "samples a second")
        .between(1000.0, 1e6)
        .type_name("HZ")
        .show_default();
    command.add_option("--bits", schedule.bits, "bits a sample")
        .one_of({8, 16, 24, 32})
        .type_name("N")
        .show_default();
    command.add_option("--channels", schedule.channels, "microphones recorded")
        .between(1, 64)
        .type_name("N")
        .show_default();
    command
        .add_option("--minutes-per-hour", options.schedule.minutes_per_hour,
                    "minutes recorded in an hour (default: the deployment sheet's most, else 60)")
        .between(0.01, 60.0)
        .type_name("MIN");
    command
        .add_option("--days", options.schedule.days,
                    "days out (default: the deployment sheet's longest, else 30)")
        .between(0.01, 3660.0)
        .type_name("N");
    command.add_option("--card-gb", schedule.card_gb, "size printed on the card")
        .between(0.01, 1e6)
        .type_name("GB");
    command.add_option("--battery-mah", schedule.battery_mah, "capacity printed on the battery")
        .between(1.0, 1e7)
        .type_name("MAH");
    command.add_option("--record-ma", schedule.record_ma, "measured draw while recording")
        .between(0.001, 1e5)
        .type_name("MA");
    command.add_option("--sleep-ma", schedule.sleep_ma, "measured draw between recordings")
        .between(0.0, 1e5)
        .type_name("MA");
}

void add_design_options(Command& command, PlanOptions& options) {
    command
        .add_option("--listening-distance", options.listening_distance_m,
                    "metres within which two recorders hear the same animals (default: the "
                    "survey's, 250 by common practice)")
        .between(0.0, 1e5)
        .type_name("M");
    command.add_flag("--power", options.power, "how many sites show a difference");
    add_power_options(command, options.power_options);
}

}  // namespace

Run add_plan(CLI::App& program) {
    auto options = std::make_shared<PlanOptions>();
    Command command(program, "plan",
                    "before going out: sun, card, battery, spacing, design and sheets to print");
    add_survey(command, options->survey);
    command
        .add_option("--from", options->from,
                    "first date, for sites and deployments that have none yet")
        .type_name("DATE");
    add_schedule_options(command, *options);
    add_design_options(command, *options);
    command.add_flag("--dry-run", options->dry_run, "show everything, write nothing");
    command.example(
        "hearwood plan ~/surveys/heath-and-alluvium --minutes-per-hour 10 --days 30 "
        "--card-gb 128 \\\n    --battery-mah 9000 --record-ma 35 --sleep-ma 1");
    return [options, command] {
        options->schedule.recorder_stated =
            command.given("--rate") || command.given("--bits") || command.given("--channels");
        return plan(*options);
    };
}

}  // namespace hearwood

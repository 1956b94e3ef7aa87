// `plan SURVEY`: before going out.
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cmath>
#include <memory>
#include <optional>
#include <string>

#include "base/file.h"
#include "base/text.h"
#include "command/audit_inputs.h"
#include "command/command.h"
#include "command/plan_power.h"
#include "plan/budget.h"
#include "plan/deployment_sheet.h"
#include "plan/spacing.h"
#include "plan/visits.h"

namespace hearwood {
namespace {

constexpr std::size_t kLinesShown = 40;

struct PlanOptions {
    std::string survey, from;
    Schedule schedule;
    std::optional<double> minutes_per_hour, days, listening_distance_m;
    bool power = false;
    PowerOptions power_options;
    bool dry_run = false;
};

void heading(const std::string& title) {
    fmt::print("\n{}\n", title);
}

/// What the command line leaves open comes from the deployment sheet: the longest stay, the densest
/// schedule.
Schedule schedule_of(const PlanOptions& options, const Survey& survey) {
    Schedule schedule = options.schedule;
    double minutes = 0, days = 0;
    for (const Deployment& deployment : survey.deployments) {
        minutes = std::max(minutes, deployment.expected_minutes_per_hour.value_or(0));
        if (deployment.start && deployment.end)
            days = std::max(days, std::chrono::duration<double, std::ratio<86'400>>(
                                      *deployment.end - *deployment.start)
                                      .count());
    }
    if (minutes > 0) schedule.minutes_per_hour = minutes;
    if (days > 0) schedule.days = std::ceil(days);
    schedule.minutes_per_hour = options.minutes_per_hour.value_or(schedule.minutes_per_hour);
    schedule.days = options.days.value_or(schedule.days);
    return schedule;
}

std::optional<std::chrono::local_days> first_date(const PlanOptions& options) {
    if (options.from.empty()) return {};
    const auto date = parse_date(options.from);
    if (!date)
        throw InputError("--from '" + options.from + "' is not a date", "write it as 2031-05-04");
    return date;
}

void print_sun(const Survey& survey, const std::vector<Visit>& visits,
               const std::vector<std::string>& undated) {
    heading("Sunrise and sunset (first and last date, " + survey.time_zone + ")");
    fmt::print("{}", sun_text(survey, visits));
    if (!undated.empty())
        fmt::print("  no dates for {}: give --from 2031-05-04, or fill start and end\n",
                   printable(join(undated, ", ")));
}

void print_spacing(const Survey& survey, double listening_distance_m) {
    heading("Spacing");
    const auto warnings = spacing_warnings(survey, listening_distance_m);
    for (std::size_t i = 0; i < std::min(warnings.size(), kLinesShown); ++i)
        fmt::print("  {}\n", one_line(warnings[i]));
    if (warnings.size() > kLinesShown)
        fmt::print("  and {} more: see distances.csv\n", warnings.size() - kLinesShown);
    if (warnings.empty())
        fmt::print("  all sites are at least {} m apart (common practice; --listening-distance)\n",
                   readable_number(listening_distance_m));
}

/// What the sheets alone say about the design; distances have their own section.
void print_design(const Survey& survey) {
    heading("Design, as the sheets have it");
    for (const Problem& warning : survey.warnings) fmt::print("  {}\n", one_line(warning));
    std::size_t shown = survey.warnings.size();
    for (const Finding& finding : audit_survey(survey, nullptr, {})) {
        const bool told = finding.topic == "distance" && finding.what.starts_with("Nearer than");
        if (told) continue;
        ++shown;
        fmt::print("  {}\n", printable(one_line(finding)));
    }
    if (shown == 0)
        fmt::print("  nothing in it that could be mistaken for an effect of the stand\n");
}

void write_files(const Survey& survey, const std::vector<Visit>& visits, const Schedule& schedule,
                 double listening_distance_m) {
    const auto folder = survey.folder / "hearwood" / "plan";
    make_folder(folder);
    write_sun_times(survey, visits, folder / "sun-times.csv");
    write_distances(survey, listening_distance_m, folder / "distances.csv");
    write_deployment_csv(survey, visits, folder / "deployment-sheet.csv");
    write_whole_file(folder / "deployment-sheet.html",
                     deployment_sheet_html(survey, visits, {schedule_text(schedule)}));
    fmt::print(
        "\n{}: deployment-sheet.html to print, deployment-sheet.csv, sun-times.csv, "
        "distances.csv\n",
        printable(folder.string()));
}

ExitCode plan(const PlanOptions& options) {
    const auto from = first_date(options);
    const Survey survey = load_survey(options.survey);
    const Schedule schedule = schedule_of(options, survey);
    const double distance =
        options.listening_distance_m.value_or(survey.stands.listening_distance_m);
    std::vector<std::string> undated;
    const auto visits =
        visits_of(survey, from, std::max(1, static_cast<int>(std::lround(schedule.days))), undated);

    fmt::print("{}\n", printable(survey.title));
    print_sun(survey, visits, undated);
    heading("Card and battery");
    fmt::print("{}", budget_text(schedule));
    print_spacing(survey, distance);
    print_design(survey);
    if (options.power) {
        heading("How many sites");
        print_power(options.power_options, survey);
    }
    if (options.dry_run) return ExitCode::ok;
    write_files(survey, visits, schedule, distance);
    return ExitCode::ok;
}

void add_schedule_options(CLI::App& command, PlanOptions& options) {
    Schedule& schedule = options.schedule;
    command.add_option("--rate", schedule.rate_hz, "samples a second")
        ->check(CLI::Range(1000.0, 1e6))
        ->type_name("HZ")
        ->capture_default_str();
    command.add_option("--bits", schedule.bits, "bits a sample")
        ->check(CLI::IsMember({8, 16, 24, 32}))
        ->type_name("N")
        ->capture_default_str();
    command.add_option("--channels", schedule.channels, "microphones recorded")
        ->check(CLI::Range(1, 64))
        ->type_name("N")
        ->capture_default_str();
    command
        .add_option("--minutes-per-hour", options.minutes_per_hour,
                    "minutes recorded in an hour (default: the deployment sheet's most, else 60)")
        ->check(CLI::Range(0.01, 60.0))
        ->type_name("MIN");
    command
        .add_option("--days", options.days,
                    "days out (default: the deployment sheet's longest, else 30)")
        ->check(CLI::Range(0.01, 3660.0))
        ->type_name("N");
    command.add_option("--card-gb", schedule.card_gb, "size printed on the card")
        ->check(CLI::Range(0.01, 1e6))
        ->type_name("GB");
    command.add_option("--battery-mah", schedule.battery_mah, "capacity printed on the battery")
        ->check(CLI::Range(1.0, 1e7))
        ->type_name("MAH");
    command.add_option("--record-ma", schedule.record_ma, "measured draw while recording")
        ->check(CLI::Range(0.001, 1e5))
        ->type_name("MA");
    command.add_option("--sleep-ma", schedule.sleep_ma, "measured draw between recordings")
        ->check(CLI::Range(0.0, 1e5))
        ->type_name("MA");
}

void add_design_options(CLI::App& command, PlanOptions& options) {
    command
        .add_option("--listening-distance", options.listening_distance_m,
                    "metres within which two recorders hear the same animals (default: the "
                    "survey's, 250 by common practice)")
        ->check(CLI::Range(0.0, 1e5))
        ->type_name("M");
    command.add_flag("--power", options.power, "how many sites show a difference");
    add_power_options(command, options.power_options);
}

}  // namespace

Run add_plan(CLI::App& program) {
    auto options = std::make_shared<PlanOptions>();
    CLI::App* command = program.add_subcommand(
        "plan", "before going out: sun, card, battery, spacing, design and sheets to print");
    command->add_option("survey", options->survey, "survey folder")
        ->required()
        ->type_name("SURVEY");
    command
        ->add_option("--from", options->from,
                     "first date, for sites and deployments that have none yet")
        ->type_name("DATE");
    add_schedule_options(*command, *options);
    add_design_options(*command, *options);
    command->add_flag("--dry-run", options->dry_run, "show everything, write nothing");
    set_example(*command,
                "hearwood plan ~/surveys/heath-and-alluvium --minutes-per-hour 10 --days 30 "
                "--card-gb 128 \\\n    --battery-mah 9000 --record-ma 35 --sleep-ma 1");
    return [options] { return plan(*options); };
}

}  // namespace hearwood

// `init DIR`: the sheets of a new survey.
#include <fmt/core.h>

#include "base/text.h"
#include "command/command.h"
#include "survey/gpx.h"
#include "survey/new_survey.h"

namespace hearwood {
namespace {

/// As in the survey.toml that is written.
constexpr const char* kFactor = "nutrient_status";

struct InitOptions : SharedOptions {
    std::string waypoints;
};

ExitCode init(const InitOptions& options) {
    const std::string folder = printable(options.survey);
    const bool from_receiver = !options.waypoints.empty();
    const std::vector<NewSheet> sheets =
        from_receiver
            ? new_survey_sheets(sites_from_waypoints(read_gpx(options.waypoints), kFactor))
            : new_survey_sheets();
    if (options.dry_run) {
        for (const NewSheet& sheet : sheets) fmt::print("would write {}/{}\n", folder, sheet.name);
        return ExitCode::ok;
    }
    write_new_survey(options.survey, sheets);
    for (const NewSheet& sheet : sheets) fmt::print("{}/{}\n", folder, sheet.name);
    if (from_receiver)
        fmt::print(
            "Fill the column {} of sites.csv, then:\n"
            "hearwood plan {} --from DATE   (its deployment-sheet.csv begins deployments.csv)\n",
            kFactor, folder);
    else
        fmt::print(
            "Write your own sites and deployments in place of the example rows, then:\n"
            "hearwood plan {}\n",
            folder);
    return ExitCode::ok;
}

}  // namespace

Run add_init(CLI::App& program) {
    CommandOf<InitOptions> command(program, "init", "begin a survey: a folder with its sheets");
    command.add_option("folder DIR", command->survey, "folder of the new survey").required();
    command
        .add_option("--waypoints", command->waypoints,
                    "sites.csv from the waypoints of a receiver (GPX 1.1); tracks in the file give "
                    "the distance along the trail")
        .type_name("FILE");
    command.add_flag("--dry-run", command->dry_run, "say what would be written, write nothing");
    command.example("hearwood init ~/surveys/heath-and-alluvium");
    return command.does(init);
}

}  // namespace hearwood

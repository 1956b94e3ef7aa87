// `init DIR`: the sheets of a new survey.
#include <fmt/core.h>

#include <memory>
#include <string>

#include "base/text.h"
#include "command/command.h"
#include "survey/new_survey.h"

namespace hearwood {
namespace {

struct InitOptions {
    std::string folder;
    bool dry_run = false;
};

ExitCode init(const InitOptions& options) {
    const std::string folder = printable(options.folder);
    if (options.dry_run) {
        for (const NewSheet& sheet : new_survey_sheets())
            fmt::print("would write {}/{}\n", folder, sheet.name);
        return ExitCode::ok;
    }
    write_new_survey(options.folder);
    for (const NewSheet& sheet : new_survey_sheets()) fmt::print("{}/{}\n", folder, sheet.name);
    fmt::print(
        "Write your own sites and deployments in place of the example rows, then:\n"
        "hearwood plan {}\n",
        folder);
    return ExitCode::ok;
}

}  // namespace

Run add_init(CLI::App& program) {
    auto options = std::make_shared<InitOptions>();
    Command command(program, "init", "begin a survey: a folder with its sheets");
    command.add_option("folder", options->folder, "folder of the new survey")
        .required()
        .type_name("DIR");
    command.add_flag("--dry-run", options->dry_run, "say what would be written, write nothing");
    command.example("hearwood init ~/surveys/heath-and-alluvium");
    return [options] { return init(*options); };
}

}  // namespace hearwood

#include <fmt/core.h>

#include <string>
#include <thread>
#include <vector>

#include "base/text.h"
#include "command/command.h"
#include "survey/survey.h"

namespace hearwood {

void add_survey(Command& command, std::string& folder) {
    command.add_option("survey", folder, "survey folder").required().type_name("SURVEY");
}

void add_shared_options(Command& command, SharedOptions& options, bool writes) {
    command
        .add_option("--jobs", options.jobs, "how many threads work at once (default: one a core)")
        .between(1, 1024)
        .type_name("N");
    command.add_flag("--quiet", options.quiet, "no progress line");
    if (writes)
        command.add_flag("--dry-run", options.dry_run, "say what would be done, write nothing");
}

int job_count(const SharedOptions& options) {
    if (options.jobs > 0) return options.jobs;
    const unsigned cores = std::thread::hardware_concurrency();
    return cores > 0 ? static_cast<int>(cores) : 1;
}

std::size_t site_given(const Survey& survey, const std::string& name) {
    std::vector<std::string> names;
    for (const Site& site : survey.sites) {
        if (site.name == name) return names.size();
        names.push_back(site.name);
    }
    const auto near = nearest(name, names);
    throw InputError(fmt::format("--site: sites.csv has no site '{}'", printable(name)),
                     near ? fmt::format("did you mean '{}'?", printable(*near))
                          : std::string("take a name from its column site"));
}

void refuse_own_input(const std::filesystem::path& out, const std::filesystem::path& input) {
    std::error_code ignored;
    if (std::filesystem::equivalent(out, input, ignored))
        throw InputError(printable(out.string()) + ": would be written over the file that is read",
                         "give --out another name");
}

}  // namespace hearwood

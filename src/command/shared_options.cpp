#include <thread>

#include "base/text.h"
#include "command/command.h"

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

void refuse_own_input(const std::filesystem::path& out, const std::filesystem::path& input) {
    std::error_code ignored;
    if (std::filesystem::equivalent(out, input, ignored))
        throw InputError(printable(out.string()) + ": would be written over the file that is read",
                         "give --out another name");
}

}  // namespace hearwood

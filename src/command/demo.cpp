#include "demo/demo.h"

#include <fmt/core.h>

#include "base/log.h"
#include "base/text.h"
#include "command/command.h"

namespace hearwood {
namespace {

struct DemoOptions : SharedOptions {
    std::uint64_t seed = 1;
};

ExitCode run_demo(const DemoOptions& options) {
    const DemoSummary summary =
        make_demo(options.survey, options.seed, job_count(options), options.quiet);
    if (summary.interrupted) {
        log_line(fmt::format("interrupted; remove {} and run the command again",
                             printable(options.survey)));
        return ExitCode::interrupted;
    }
    fmt::print("{}: {}, {}, {} MB, all invented\nnext: hearwood run {}\n",
               printable(options.survey), counted(summary.sites, "site"),
               counted(summary.files, "recording"), grouped(summary.bytes / 1'000'000),
               printable(options.survey));
    return ExitCode::ok;
}

}  // namespace

Run add_demo(CLI::App& program) {
    CommandOf<DemoOptions> command(
        program, "demo", "make an invented survey with known truth, sheets and recordings");
    command.add_option("DIR", command->survey, "new folder").required();
    command.add_option("--seed", command->seed, "another seed makes another survey").show_default();
    command.add_shared_options(false);
    command.example("hearwood demo demo-survey");
    return command.does(run_demo);
}

}  // namespace hearwood

#include "demo/demo.h"

#include <fmt/core.h>

#include <memory>

#include "base/log.h"
#include "base/text.h"
#include "command/command.h"

namespace hearwood {
namespace {

struct DemoOptions {
    std::string folder;
    std::uint64_t seed = 1;
    SharedOptions shared;
};

ExitCode run_demo(const DemoOptions& options) {
    const DemoSummary summary =
        make_demo(options.folder, options.seed, job_count(options.shared), options.shared.quiet);
    if (summary.interrupted) {
        log_line(fmt::format("interrupted; remove {} and run the command again",
                             printable(options.folder)));
        return ExitCode::interrupted;
    }
    fmt::print("{}: {}, {}, {} MB, all invented\nnext: hearwood run {}\n",
               printable(options.folder), counted(summary.sites, "site"),
               counted(summary.files, "recording"), grouped(summary.bytes / 1'000'000),
               printable(options.folder));
    return ExitCode::ok;
}

}  // namespace

Run add_demo(CLI::App& program) {
    auto options = std::make_shared<DemoOptions>();
    Command command(program, "demo",
                    "make an invented survey with known truth, sheets and recordings");
    command.add_option("DIR", options->folder, "new folder").required();
    command.add_option("--seed", options->seed, "another seed makes another survey").show_default();
    add_shared_options(command, options->shared, false);
    command.example("hearwood demo demo-survey");
    return [options] { return run_demo(*options); };
}

}  // namespace hearwood

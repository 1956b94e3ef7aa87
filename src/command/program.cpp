#include "command/program.h"

#include <fftw3.h>
#include <fmt/format.h>
#include <openssl/crypto.h>
#include <sndfile.h>
#include <sqlite3.h>

#include <CLI/CLI.hpp>

#include "base/version.h"
#include "index/segment_analyser.h"

namespace hearwood {
namespace {

// In the order in which a survey meets them.
constexpr AddCommand kCommands[] = {
    add_init,
    add_demo,
    add_plan,
    add_offload,
    add_check,
    add_measure,
    add_gather,
    add_tabulate,
    add_contrast,
    add_robustness,
    add_report,
    add_listen,
    add_forget,
    add_picture,
    add_spectra,
    add_run,
    add_verify,
};

}  // namespace

Commands add_commands(CLI::App& program) {
    program.description(
        "Hearwood: animal activity of forest stands, measured from sound recordings");
    program.set_version_flag("--version", version_text(),
                             "show the version, the libraries' and the processor path");
    program.require_subcommand(1);
    program.footer("Start with: hearwood demo DIR, then hearwood run DIR");
    Commands commands;
    for (const AddCommand add : kCommands) {
        Run run = add(program);
        commands.emplace_back(program.get_subcommands(nullptr).back(), std::move(run));
    }
    return commands;
}

std::string version_text() {
    return fmt::format("hearwood {}\n{}\n{}\nSQLite {}\n{}\nprocessor path: {}", kVersion,
                       sf_version_string(), fftwf_version, sqlite3_libversion(),
                       OpenSSL_version(OPENSSL_VERSION), cpu_path());
}

}  // namespace hearwood

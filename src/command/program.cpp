#include "command/program.h"

#include <fftw3.h>
#include <fmt/format.h>
#include <openssl/crypto.h>
#include <png.h>
#include <sndfile.h>
#include <sqlite3.h>
#include <tbb/version.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "base/text.h"
#include "base/version.h"
#include "index/engine/segment_analyser.h"
#include "options/help_formatter.h"
#include "survey/zone_data.h"

namespace hearwood {
namespace {

// In the order in which a survey meets them.
constexpr AddCommand kCommands[] = {
    add_init,       add_demo,   add_plan,     add_offload, add_board,   add_check,
    add_measure,    add_gather, add_tabulate, add_trial,   add_even,    add_contrast,
    add_robustness, add_report, add_listen,   add_forget,  add_picture, add_events,
    add_spectra,    add_run,    add_verify,   add_deposit,
};

}  // namespace

Commands add_commands(CLI::App& program) {
    program.description(
        "Hearwood: animal activity of forest stands, measured from sound recordings");
    program.formatter(std::make_shared<HelpFormatter>());  // the commands take it over
    program.set_help_flag("-h,--help", "show this text");
    program.set_version_flag("--version", version_text,
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
    return fmt::format(
        "hearwood {}\n{}\n{}\nSQLite {}\n{}\noneTBB {}\nlibpng {}\nfmt {}.{}.{}\nCLI11 {}\n"
        "zone data {}\nprocessor path: {}",
        kVersion, sf_version_string(), fftwf_version, sqlite3_libversion(),
        OpenSSL_version(OPENSSL_VERSION), TBB_runtime_version(), png_get_libpng_ver(nullptr),
        FMT_VERSION / 10000, FMT_VERSION / 100 % 100, FMT_VERSION % 100, CLI11_VERSION,
        zone_data_version(), cpu_path());
}

}  // namespace hearwood

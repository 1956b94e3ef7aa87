#include "command/program.h"

#include <fftw3.h>
#include <fmt/format.h>
#include <openssl/crypto.h>
#include <png.h>
#include <sndfile.h>
#include <sqlite3.h>
#include <tbb/version.h>

#include <CLI/CLI.hpp>
#include <sstream>

#include "base/log.h"
#include "base/text.h"
#include "base/version.h"
#include "index/engine/segment_analyser.h"
#include "options/help.h"
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

/// CLI11 prints help and the version, which come as errors too; complaints are ours.
int parse_failure(const CLI::App& program, const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) {
        std::ostringstream text;
        const int exit_code = program.exit(error, text, text);
        fmt::print("{}", text.str());
        return exit_code;
    }
    log_line(usage_complaint(program, error));
    return static_cast<int>(ExitCode::nothing_done);
}

}  // namespace

Program::Program() : app_(std::make_unique<CLI::App>()) {
    app_->name("hearwood");
    app_->description("Hearwood: animal activity of forest stands, measured from sound recordings");
    app_->formatter(std::make_shared<HelpFormatter>());  // the commands take it over
    app_->set_help_flag("-h,--help", "show this text");
    app_->set_version_flag("--version", version_text,
                           "show the version, the libraries' and the processor path");
    app_->require_subcommand(1);
    app_->footer("Start with: hearwood demo DIR, then hearwood run DIR");
    for (const AddCommand add : kCommands) {
        Run run = add(*app_);
        commands_.emplace_back(app_->get_subcommands(nullptr).back(), std::move(run));
    }
}

Program::~Program() = default;

const Run* Program::read(int argc, char** argv, int& exit_code) {
    try {
        app_->parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        exit_code = parse_failure(*app_, error);
        return nullptr;
    }
    for (const auto& [command, run] : commands_)
        if (command->parsed()) return &run;
    exit_code = static_cast<int>(ExitCode::nothing_done);
    return nullptr;
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

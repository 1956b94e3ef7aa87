// Writes what is generated from the program's option tree; used by the build and the tests, not
// installed.
//   hearwood-reference markdown|bash|zsh        to standard output
//   hearwood-reference man FOLDER               one page a command into the folder
//   hearwood-reference tables docs/tables.md    the columns of every table in that page
//   hearwood-reference keys PAGE...             the tables of survey.toml's keys in these pages
#include <fmt/core.h>

#include <cstdio>
#include <exception>
#include <filesystem>
#include <span>
#include <string>

#include "base/file.h"
#include "base/log.h"
#include "command/program.h"
#include "command/result_tables.h"
#include "options/reference.h"
#include "survey/setting_keys.h"

namespace {

using namespace hearwood;

int write_reference(int argc, char** argv) {
    const std::string what = argc > 1 ? argv[1] : "";
    const Program hearwood;
    const CLI::App& program = hearwood.tree();
    if (what == "markdown") {
        fmt::print("{}", reference_markdown(program));
    } else if (what == "bash") {
        fmt::print("{}", bash_completion(program));
    } else if (what == "zsh") {
        fmt::print("{}", zsh_completion(program));
    } else if (what == "man" && argc > 2) {
        make_folder(argv[2]);
        write_man_pages(program, argv[2]);
    } else if (what == "tables" && argc > 2) {
        write_whole_file(argv[2], with_described_tables(read_whole_file(argv[2])));
    } else if (what == "keys") {
        for (const std::filesystem::path page : std::span(argv, argc).subspan(2))
            write_whole_file(page, with_settings_tables(read_whole_file(page), setting_sections()));
    } else {
        log_line(
            "usage: hearwood-reference markdown|bash|zsh, man FOLDER, tables PAGE, or keys "
            "PAGE...");
        return 2;
    }
    return 0;
}

}  // namespace

int main(int argc, char** argv) {
    try {
        return write_reference(argc, argv);
    } catch (const std::exception& error) {
        static_cast<void>(std::fprintf(stderr, "hearwood-reference: %s\n", error.what()));
        return 3;
    }
}

// `forget FILE --from S --to S`: silences a stretch of an archived recording.
#include "command/forget.h"

#include <fmt/core.h>

#include <filesystem>
#include <memory>
#include <string>

#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/print.h"
#include "listen/forget.h"
#include "store/store.h"
#include "store/writer_lock.h"
#include "survey/inside.h"

namespace hearwood {
namespace {

struct ForgetOptions {
    std::string file;
    double from = 0, to = 0;
    std::string reason;
    bool dry_run = false;
};

ExitCode forget(const ForgetOptions& options) {
    const std::filesystem::path folder = survey_folder_of(options.file);
    const std::filesystem::path file = std::filesystem::absolute(options.file).lexically_normal();
    const std::filesystem::path relative = file.lexically_relative(folder);
    // Not load_survey: a voice can be silenced while a sheet is still wrong.
    if (auto links = links_out_of(folder); !links.empty()) throw InputError(std::move(links));
    if (std::filesystem::is_symlink(file) || leads_out(folder, relative))
        throw InputError(options.file + ": a symbolic link, or behind one that leaves the survey",
                         "name the recording itself, inside the survey folder");
    ForgetRequest request{name_to_utf8(relative.generic_string()), options.from, options.to,
                          options.reason};
    if (options.dry_run) {
        print_would_forget(request);
        return ExitCode::ok;
    }
    Store store = Store::open(folder);
    const auto turn = lock_results(folder);
    return print_forgotten(forget_stretch(folder, store, request));
}

}  // namespace

void print_would_forget(const ForgetRequest& request) {
    print_wrapped(fmt::format("would silence {} from {} to {} s", printable(request.recording),
                              format_number(request.from_s), format_number(request.to_s)));
}

ExitCode print_forgotten(const Forgotten& done) {
    print_wrapped(
        fmt::format("{}: silent from {} to {} s; both hashes and the reason "
                    "stand in hearwood/forgotten.csv",
                    printable(done.stretch.recording), format_number(done.stretch.from_s),
                    format_number(done.stretch.to_s)));
    for (const std::string& clip : done.clips)
        fmt::print("clip {} of the listening sheet was removed\n", clip);
    fmt::print("{}", wrapped("its results were dropped, and the page's clips removed: run hearwood "
                             "measure, then report"));
    for (const std::string& copy : done.elsewhere) print_entry(printable(copy));
    fmt::print("{}",
               wrapped("the card still holds it, and so may copies that hearwood does not know "
                       "of; offload silences it again when the card is offloaded once more"));
    for (const std::string& path : done.not_removed)
        log_line(fmt::format("{}: could not be removed and may hold the voice; remove it by hand",
                             printable(path)));
    return done.not_removed.empty() ? ExitCode::ok : ExitCode::machine_failed;
}

Run add_forget(CLI::App& program) {
    auto options = std::make_shared<ForgetOptions>();
    Command command(program, "forget",
                    "silence a stretch of an archived recording, when a voice must not be kept");
    command.add_option("file", options->file, "recording inside a survey folder")
        .required()
        .existing_file()
        .type_name("FILE");
    command.add_option("--from", options->from, "first second of the stretch")
        .required()
        .between(0.0, 1e7)
        .type_name("SECONDS");
    command.add_option("--to", options->to, "end of the stretch")
        .required()
        .between(0.0, 1e7)
        .type_name("SECONDS");
    command.add_option("--reason", options->reason, "why, for the record")
        .required()
        .type_name("TEXT");
    command.add_flag("--dry-run", options->dry_run, "say what would be done, write nothing");
    command.example(
        "hearwood forget "
        "~/surveys/heath-and-alluvium/recordings/amerak-1/amerak-1_20260418_060000.wav "
        "--from 12 --to 31 --reason 'two people talk'");
    return [options] { return forget(*options); };
}

}  // namespace hearwood

// `forget FILE --from S --to S`: silences a stretch of an archived recording.
#include "listen/forget.h"

#include <fmt/core.h>

#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

struct ForgetOptions : SharedOptions {
    double from = 0, to = 0;
    std::string reason;
};

ExitCode forget(const ForgetOptions& options) {
    const std::filesystem::path folder = survey_folder_of(options.survey);
    return forget(
        folder, request_for_file(folder, options.survey, options.from, options.to, options.reason),
        options.dry_run);
}

}  // namespace

ExitCode forget(const std::filesystem::path& folder, const ForgetRequest& request, bool dry_run) {
    if (dry_run) {
        fmt::print("{}", would_forget_text(request));
        return ExitCode::ok;
    }
    Store store = Store::open(folder);
    const auto turn = lock_results(folder);
    const Forgotten done = forget_stretch(folder, store, request);
    fmt::print("{}", forgotten_text(done));
    for (const std::string& path : done.not_removed)
        log_line(fmt::format("{}: could not be removed and may hold the voice; remove it by hand",
                             printable(path)));
    return done.not_removed.empty() ? ExitCode::ok : ExitCode::machine_failed;
}

Run add_forget(CLI::App& program) {
    CommandOf<ForgetOptions> command(
        program, "forget",
        "silence a stretch of an archived recording, when a voice must not be kept");
    command.add_option("file FILE", command->survey, "recording inside a survey folder")
        .required()
        .existing_file();
    command.add_option("--from SECONDS", command->from, "first second of the stretch")
        .required()
        .between(0.0, 1e7);
    command.add_option("--to SECONDS", command->to, "end of the stretch")
        .required()
        .between(0.0, 1e7);
    command.add_option("--reason TEXT", command->reason, "why, for the record").required();
    command.add_flag("--dry-run", command->dry_run, "say what would be done, write nothing");
    command.example(
        "hearwood forget "
        "~/surveys/heath-and-alluvium/recordings/amerak-1/amerak-1_20260418_060000.wav "
        "--from 12 --to 31 --reason 'two people talk'");
    return command.does(forget);
}

}  // namespace hearwood

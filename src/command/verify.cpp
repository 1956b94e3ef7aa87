// `verify SURVEY`: everything is read again, and held against each other.
#include "measure/verify.h"

#include <fmt/core.h>

#include <chrono>
#include <filesystem>
#include <memory>

#include "aggregate/judged_segments.h"
#include "aggregate/verify_tables.h"
#include "base/log.h"
#include "base/text.h"
#include "card/verify_copies.h"
#include "command/command.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

struct VerifyArguments {
    std::string survey;
    std::vector<std::string> copies;
    bool scrub = false;
    int minutes = 0;  ///< 0: as long as it takes
    SharedOptions shared;
};

using Lines = std::vector<std::string>;

CopiesRead read_copies(const Survey& survey, const VerifyArguments& options) {
    CopiesOptions how;
    for (const std::string& folder : options.copies) {
        std::error_code error;
        if (!fs::is_directory(folder, error))
            throw InputError(printable(folder) + ": no such folder",
                             "give the DIR of offload --second; is the disk connected?");
        how.copies.emplace_back(folder);
    }
    how.oldest_first = options.scrub;
    if (options.minutes > 0) how.at_most = std::chrono::minutes(options.minutes);
    how.quiet = options.shared.quiet;
    return verify_copies(survey, how);
}

void print_copies(const CopiesRead& copies) {
    if (copies.lists == 0) return;
    print_wrapped(
        fmt::format("{} named by {} read again from the disk{}{}", counted(copies.files, "file"),
                    counted(copies.lists, "SHA256SUMS", "SHA256SUMS"),
                    copies.past_memory ? "" : " (not known whether it was read past memory)",
                    copies.left > 0 ? "; " + grouped(copies.left) + " not reached" : ""));
    if (!copies.oldest.empty()) print_wrapped("least recent proof of a copy: " + copies.oldest);
}

ExitCode conclude(const Lines& disagreements, const char* well) {
    for (const std::string& line : disagreements) print_entry(line);
    fmt::print("{}\n", disagreements.empty()
                           ? well
                           : counted(disagreements.size(), "disagreement was found",
                                     "disagreements were found"));
    return disagreements.empty() ? ExitCode::ok : ExitCode::some_unusable;
}

ExitCode interrupted_verify() {
    log_line("interrupted; run the command again");
    return ExitCode::interrupted;
}

/// Only the copies, the least recently proved first.
ExitCode scrub(const Survey& survey, const VerifyArguments& options) {
    const CopiesRead copies = read_copies(survey, options);
    print_copies(copies);
    if (copies.interrupted) return interrupted_verify();
    return conclude(copies.differences, "the copies are what SHA256SUMS says");
}

ExitCode run_verify(const VerifyArguments& options) {
    const Survey survey = open_survey(options.survey);
    if (options.scrub) return scrub(survey, options);
    const Store store = Store::open_read_only(options.survey);
    require_current_results(survey, store);
    Lines disagreements = verify_database(survey, store);
    const Verification recordings =
        verify_recordings(survey, store, job_count(options.shared), options.shared.quiet);
    if (recordings.interrupted) return interrupted_verify();
    disagreements.insert(disagreements.end(), recordings.disagreements.begin(),
                         recordings.disagreements.end());
    const CopiesRead copies = read_copies(survey, options);
    if (copies.interrupted) return interrupted_verify();
    disagreements.insert(disagreements.end(), copies.differences.begin(), copies.differences.end());
    const auto turn = lock_results(survey.folder);
    const TablesVerified tables = verify_tables(survey, store, options.shared.quiet);
    disagreements.insert(disagreements.end(), tables.disagreements.begin(),
                         tables.disagreements.end());

    print_wrapped(fmt::format(
        "{} read again, {} of them with {} SHA-256; {} measured again and compared {}; "
        "{} of tables compared",
        counted(recordings.recordings, "recording"), grouped(recordings.hashed),
        recordings.hashed == 1 ? "its" : "their", counted(recordings.segments, "segment"),
        recordings.to_the_bit ? "to the bit"
                              : fmt::format("within {} (another processor path had measured them)",
                                            kOtherPathTolerance),
        counted(tables.files, "file")));
    print_copies(copies);
    return conclude(disagreements, copies.lists == 0
                                       ? "recordings, database and tables agree"
                                       : "recordings, copies, database and tables agree");
}

}  // namespace

Run add_verify(CLI::App& program) {
    auto options = std::make_shared<VerifyArguments>();
    Command command(program, "verify",
                    "read everything again: do recordings, database and tables still agree?");
    add_survey(command, options->survey);
    command
        .add_option("--copies", options->copies,
                    "folders of second copies (the DIR of offload --second) to be read too")
        .type_name("DIR...");
    const CommandOption scrub = command.add_flag(
        "--scrub", options->scrub, "only read copies, those first that were proved longest ago");
    command.add_option("--minutes", options->minutes, "begin no further copy after so long")
        .needs(scrub)
        .between(1, 1'000'000);
    add_shared_options(command, options->shared, false);
    command.example("hearwood verify ~/surveys/heath-and-alluvium --copies /media/backup");
    return [options] { return run_verify(*options); };
}

}  // namespace hearwood

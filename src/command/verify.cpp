// `verify SURVEY`: everything is read again, and held against each other.
#include "measure/verify.h"

#include <fmt/core.h>

#include <chrono>
#include <filesystem>
#include <memory>

#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
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

/// With what differs, at once: whatever becomes of the rest, this was seen.
void print_copies(const CopiesRead& copies) {
    if (copies.lists == 0) return;
    print_wrapped(
        fmt::format("{} named by {} read again from the disk{}{}", counted(copies.files, "file"),
                    counted(copies.lists, "SHA256SUMS", "SHA256SUMS"),
                    copies.past_memory ? "" : " (not known whether it was read past memory)",
                    copies.left > 0 ? "; " + grouped(copies.left) + " not reached" : ""));
    if (!copies.oldest.empty()) print_wrapped("least recent proof of a copy: " + copies.oldest);
    for (const std::string& line : copies.differences) print_entry(line);
}

/// `told`: how many disagreements were printed before these.
ExitCode conclude(std::size_t told, const Lines& disagreements, const std::string& well) {
    for (const std::string& line : disagreements) print_entry(line);
    const std::size_t count = told + disagreements.size();
    fmt::print("{}\n", count == 0
                           ? well
                           : counted(count, "disagreement was found", "disagreements were found"));
    return count == 0 ? ExitCode::ok : ExitCode::some_unusable;
}

ExitCode interrupted_verify() {
    log_line("interrupted; run the command again");
    return ExitCode::interrupted;
}

void append(Lines& lines, const Lines& more) {
    lines.insert(lines.end(), more.begin(), more.end());
}

void print_results(const Verification& recordings, const TablesVerified& tables) {
    print_wrapped(fmt::format(
        "{} read again, {} of them with {} SHA-256; {} measured again and compared {}; "
        "{} of tables compared",
        counted(recordings.recordings, "recording"), grouped(recordings.hashed),
        recordings.hashed == 1 ? "its" : "their", counted(recordings.segments, "segment"),
        recordings.to_the_bit ? "to the bit"
                              : fmt::format("within {} (another processor path had measured them)",
                                            kOtherPathTolerance),
        counted(tables.files, "file")));
}

/// What agrees where all does: only what was looked at.
std::string agreed(bool copies, bool tables) {
    return fmt::format("recordings{}{} agree", copies ? ", copies" : "",
                       tables ? ", database and tables" : " and database");
}

/// Recordings, database and tables, held against each other; to what is told of the copies.
ExitCode verify_results(const Survey& survey, const Store& store, const VerifyArguments& options,
                        const CopiesRead& copies) {
    Lines disagreements = verify_database(survey, store);
    const Verification recordings =
        verify_recordings(survey, store, job_count(options.shared), options.shared.quiet);
    if (recordings.interrupted) return interrupted_verify();
    append(disagreements, recordings.disagreements);
    const auto turn = lock_results(survey.folder);
    TablesVerified tables;
    const bool tabulated = fs::exists(tables_folder(survey.folder));
    if (tabulated) tables = verify_tables(survey, store, options.shared.quiet);
    append(disagreements, tables.disagreements);
    print_results(recordings, tables);
    if (!tabulated) print_wrapped("the tables have not been written yet: run 'hearwood tabulate'");
    return conclude(copies.differences.size(), disagreements, agreed(copies.lists > 0, tabulated));
}

bool nothing_measured(const fs::path& survey) {
    return !Store::exists(survey) || !Store::open_read_only(survey).settings();
}

/// The copies first: they are proved whatever becomes of the rest, and right after an offload there
/// is nothing else.
ExitCode run_verify(const VerifyArguments& options) {
    const Survey survey = open_survey(options.survey);
    const CopiesRead copies = read_copies(survey, options);
    print_copies(copies);
    if (copies.interrupted) return interrupted_verify();
    const char* const well = "the copies are what SHA256SUMS says";
    const std::size_t told = copies.differences.size();
    if (options.scrub) return conclude(told, {}, well);
    try {
        if (copies.lists > 0 && nothing_measured(options.survey)) {
            print_wrapped("nothing has been measured yet: run 'hearwood measure'");
            return conclude(told, {}, well);
        }
        const Store store = Store::open_read_only(options.survey);
        require_current_results(survey, store);
        return verify_results(survey, store, options, copies);
    } catch (const InputError& error) {
        if (copies.lists == 0) throw;
        return conclude(told, {error.what()}, well);
    }
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

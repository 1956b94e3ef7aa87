// `verify SURVEY`: everything is read again, and held against each other.
#include "measure/verify.h"

#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/log.h"
#include "base/sha256.h"
#include "base/text.h"
#include "card/verify_copies.h"
#include "command/command.h"
#include "command/measure_words.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "measure/measure.h"
#include "platform/process.h"
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

/// A folder for the tables that are made anew, gone at the end.
class ScratchFolder {
  public:
    explicit ScratchFolder(const fs::path& parent)
        : path_(parent / fmt::format(".verify-{}", process_number())) {
        make_folder(path_);
    }
    ~ScratchFolder() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;
    const fs::path& path() const { return path_; }

  private:
    fs::path path_;
};

void verify_database(const Survey& survey, const Store& store, Lines& out) {
    for (const std::string& problem : store.integrity_problems())
        out.push_back("survey.db: " + printable(problem));
    const auto stored = store.settings();
    const StoredSettings wanted = measuring_settings(survey.measure);
    if (stored && stored->hash == wanted.hash &&
        (stored->json != wanted.json || stored->columns != wanted.columns))
        out.push_back("survey.db: its settings were altered by another program");
    if (const auto count = recordings_to_do(survey, store); count > 0)
        out.push_back(counted(count, "recording on the disk is", "recordings on the disk are") +
                      " new or changed since the last measuring");
}

/// Empty where the resource has no such text: the package may have been altered.
std::string text_of(const nlohmann::json& resource, const char* name) {
    if (!resource.is_object()) return {};
    const auto found = resource.find(name);
    return found != resource.end() && found->is_string() ? found->get<std::string>()
                                                         : std::string();
}

/// Files of the data package against their sums in it.
void verify_package(const fs::path& tables, Lines& out, std::int64_t& files) {
    const auto package =
        nlohmann::json::parse(read_whole_file(tables / "datapackage.json"), nullptr, false);
    if (!package.is_object() || !package.contains("resources") ||
        !package["resources"].is_array()) {
        out.push_back("datapackage.json: is no data package");
        return;
    }
    for (const auto& resource : package["resources"]) {
        const std::string name = text_of(resource, "path");
        const std::string hash = text_of(resource, "hash");
        if (name.empty()) {
            out.push_back("datapackage.json: a resource has no path");
            continue;
        }
        // The package may have been altered: nothing outside its folder is read.
        const fs::path file = fs::path(name).filename();
        std::error_code ignored;
        if (!fs::is_regular_file(tables / file, ignored))
            out.push_back(printable(name) + ": is in the data package and not on the disk");
        else if (!hash.empty() && hash != "sha256:" + sha256_of_file(tables / file))
            out.push_back(printable(name) + ": is not the file that the data package describes");
        ++files;
    }
}

/// The tables made anew from the database against those on the disk.
void verify_tables(const Survey& survey, const Store& store, bool quiet, Lines& out,
                   std::int64_t& files) {
    const fs::path tables = tables_folder(survey.folder);
    if (!fs::exists(tables / "datapackage.json")) {
        out.push_back("the tables have not been written yet: run 'hearwood tabulate'");
        return;
    }
    verify_package(tables, out, files);
    const ScratchFolder scratch(survey.folder / "hearwood");
    write_tables(survey, store, scratch.path(), quiet);
    std::vector<fs::path> made;
    for (const auto& entry : fs::directory_iterator(scratch.path()))
        if (entry.path().filename() != "datapackage.json") made.push_back(entry.path());
    std::sort(made.begin(), made.end());
    for (const fs::path& path : made) {
        const std::string name = path.filename().string();
        std::error_code ignored;
        if (!fs::is_regular_file(tables / name, ignored))
            out.push_back(name + ": is missing from the tables");
        else if (sha256_of_file(path) != sha256_of_file(tables / name))
            out.push_back(name + ": is not what the database gives; run 'hearwood tabulate' again");
    }
}

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
    Lines disagreements;
    verify_database(survey, store, disagreements);
    const Verification recordings =
        verify_recordings(survey, store, job_count(options.shared), options.shared.quiet);
    if (recordings.interrupted) return interrupted_verify();
    disagreements.insert(disagreements.end(), recordings.disagreements.begin(),
                         recordings.disagreements.end());
    const CopiesRead copies = read_copies(survey, options);
    if (copies.interrupted) return interrupted_verify();
    disagreements.insert(disagreements.end(), copies.differences.begin(), copies.differences.end());
    std::int64_t files = 0;
    const auto turn = lock_results(survey.folder);
    verify_tables(survey, store, options.shared.quiet, disagreements, files);

    print_wrapped(fmt::format(
        "{} read again, {} of them with {} SHA-256; {} measured again and compared {}; "
        "{} of tables compared",
        counted(recordings.recordings, "recording"), grouped(recordings.hashed),
        recordings.hashed == 1 ? "its" : "their", counted(recordings.segments, "segment"),
        recordings.to_the_bit ? "to the bit"
                              : fmt::format("within {} (another processor path had measured them)",
                                            kOtherPathTolerance),
        counted(files, "file")));
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

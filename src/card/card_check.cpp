#include "card/card_check.h"

#include <fmt/format.h>

#include <algorithm>

#include "audio/audio_file.h"
#include "audio/holds_nothing.h"
#include "audio/recorder_mark.h"
#include "base/error.h"
#include "base/text.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// What the database, SHA256SUMS and the file system itself need beside the copies.
constexpr std::uint64_t kReserve = 16 << 20, kReserveOfFile = 8 << 10;

/// Bytes that a disk has to have room for.
struct Room {
    std::uint64_t copies = 0, reserve = 0;  // nothing to copy, nothing in reserve
    void add(std::uint64_t copy_bytes) {
        if (reserve == 0) reserve = kReserve;
        copies += copy_bytes;
        reserve += kReserveOfFile;
    }
};

bool is_inside(const fs::path& inner, const fs::path& outer) {
    const fs::path relative = inner.lexically_relative(outer);
    return !relative.empty() && *relative.begin() != "..";
}

std::string megabytes(std::uint64_t bytes) {
    return grouped(bytes / 1'000'000) + " MB";
}

}  // namespace

const Deployment& deployment_named(const Survey& survey, const std::string& name) {
    std::vector<std::string> names;
    for (const Deployment& deployment : survey.deployments) {
        if (deployment.name == name) return deployment;
        names.push_back(deployment.name);
    }
    const auto near = nearest(name, names);
    const std::string fix = near                 ? "did you mean '" + *near + "'?"
                            : names.size() <= 12 ? "the sheet has " + join(names, ", ")
                                                 : "add a row for it to deployments.csv";
    throw InputError({Problem{
        .file = "deployments.csv", .value = name, .what = "no such deployment", .fix = fix}});
}

void check_places(const fs::path& given, std::span<const CopyTarget> targets) {
    const fs::path card = fs::weakly_canonical(given);
    std::error_code ignored;
    if (fs::exists(card / "survey.toml", ignored))
        throw InputError(
            printable(given.native()) + " holds a survey.toml: it is a survey, not a card",
            "the card comes first: hearwood offload CARD SURVEY --deployment D");
    const auto inside = [](const fs::path& inner, const fs::path& outer) {
        return is_inside(inner, outer) || lies_inside(inner, outer);
    };
    if (targets.size() == 2 && (inside(targets[0].folder(), targets[1].folder()) ||
                                inside(targets[1].folder(), targets[0].folder())))
        throw InputError("--second leads to " + printable(targets[1].folder().native()) +
                             ", which is the survey's own folder " +
                             printable(targets[0].folder().native()) + " or lies inside of it",
                         "name a folder on another disk");
    for (const CopyTarget& target : targets)
        if (inside(target.folder(), card) || inside(card, target.folder()))
            throw InputError("the card " + printable(card.native()) + " and the copies' folder " +
                                 printable(target.folder().native()) + " lie inside each other",
                             "give the folder of the card itself; nothing is ever written to it");
}

void check_space(std::span<const CopyTarget> targets, const FileCopier& copier,
                 OffloadResult& result) {
    const bool one_room =
        targets.size() == 2 && targets[0].file_system() == targets[1].file_system();
    std::vector<Room> rooms(one_room ? 1 : targets.size());  // one a file system
    for (const FileOutcome& file : result.files) {
        bool lacks = false;
        for (std::size_t t = 0; t < targets.size(); ++t) {
            if (file.size > targets[t].disk().largest_file) continue;  // it is named later
            if (copier.seems_copied(targets[t], file)) continue;
            rooms[std::min(t, rooms.size() - 1)].add(file.size);
            lacks = true;
        }
        if (lacks) result.bytes_needed += file.size;
    }
    for (std::size_t disk = 0; disk < rooms.size(); ++disk) {
        const std::uint64_t free = targets[disk].free_bytes();
        const Room& room = rooms[disk];
        if (free < room.copies + room.reserve)
            throw MachineError(fmt::format(
                "{}: not enough space: {} of copies{} and {} in reserve are needed, {} are free; "
                "free some space or use another disk; nothing was copied",
                printable(targets[disk].folder().native()), megabytes(room.copies + 999'999),
                one_room ? " (both on one disk)" : "", megabytes(room.reserve + 999'999),
                megabytes(free)));
    }
}

CardCheck::CardCheck(const Survey& survey, const Store& store, const Deployment& deployment,
                     const OffloadOptions& options, OffloadResult& result)
    : survey_(survey),
      deployment_(deployment),
      options_(options),
      result_(result),
      names_(survey.start_time_pattern),
      clock_(survey, deployment),
      known_(survey, store) {}

void CardCheck::object(std::vector<std::string> misfits) {
    if (options_.force) {
        for (std::string& misfit : misfits)
            if (std::find(result_.cautions.begin(), result_.cautions.end(), misfit) ==
                result_.cautions.end())
                result_.cautions.push_back(std::move(misfit));
        return;
    }
    std::vector<Problem> problems;
    for (const std::string& misfit : misfits)
        problems.push_back({.file = options_.card.native(),
                            .what = "nothing was copied: this does not look like the card of "
                                    "deployment '" +
                                    deployment_.name + "': " + misfit,
                            .fix = "check the card, the deployment and the dates in "
                                   "deployments.csv; if it is the right card add --force"});
    if (!problems.empty()) throw InputError(std::move(problems));
}

void CardCheck::check_names() {
    std::vector<std::string> prefixes;
    std::vector<Instant> starts;
    for (const FileOutcome& file : result_.files) {
        if (!file.recording) continue;
        prefixes.push_back(names_.prefix_of(file.path));
        if (const auto start = names_.from_name(file.path))
            starts.push_back(clock_.read(start->wall, start->utc_offset).instant);
    }
    std::vector<std::string> misfits =
        known_.misfits(deployment_, identifying_prefix(prefixes), "");
    if (const std::string times = times_misfit(survey_, deployment_, starts); !times.empty())
        misfits.push_back(times);
    object(std::move(misfits));
}

void CardCheck::check_content(const CopiedFile& copied, const std::optional<RecordingRow>& same) {
    std::vector<std::string> misfits;
    const FileOutcome& file = result_.files[copied.index];
    if (same && !holds_nothing(options_.card / file.path))  // dead microphones' are all alike
        misfits.push_back("its file " + printable(file.path) +
                          " was offloaded already for deployment '" + same->deployment + "', as " +
                          same->path);
    if (!copied.pending.empty() && copied.pending.front().target == 0) {
        auto opened = open_audio(copied.pending.front().copy.temporary());
        if (const auto* audio = std::get_if<AudioFile>(&opened))
            for (std::string& misfit :
                 known_.misfits(deployment_, "", name_to_utf8(recorder_serial(audio->metadata()))))
                misfits.push_back(std::move(misfit));
    }
    object(std::move(misfits));
}

}  // namespace hearwood

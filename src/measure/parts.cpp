#include "measure/parts.h"

#include <fmt/core.h>

#include <algorithm>
#include <cstdlib>
#include <map>

#include "base/error.h"
#include "base/interrupt.h"
#include "base/text.h"
#include "measure/measure.h"

namespace hearwood {

namespace {

constexpr const char* kFinishedNote = "part_finished";
constexpr int kMostParts = 9999;  // as many as the file names hold

[[noreturn]] void throw_no_part(const std::string& what) {
    throw InputError(what, "write --part=I/N, with I from 1 to N, or run it in a Slurm array");
}

std::optional<int> from_environment(const char* name) {
    const char* text = std::getenv(name);
    if (!text || !*text) return std::nullopt;
    const auto value = parse_integer(text);
    if (!value || *value < 0 || *value > INT32_MAX)
        throw_no_part(fmt::format("{}={} is no number of a task", name, printable(text)));
    return static_cast<int>(*value);
}

/// Tasks of an array may be numbered from any number in any steps.
Part part_of_array() {
    const auto id = from_environment("SLURM_ARRAY_TASK_ID");
    const auto count = from_environment("SLURM_ARRAY_TASK_COUNT");
    if (!id || !count) throw_no_part("--part says no part, and this is no task of a Slurm array");
    const int first = from_environment("SLURM_ARRAY_TASK_MIN").value_or(0);
    const int step = std::max(1, from_environment("SLURM_ARRAY_TASK_STEP").value_or(1));
    const int number = (*id - first) / step;
    if (*id < first || number >= *count || *count > kMostParts)
        throw_no_part(fmt::format(
            "task {} of an array of {} tasks, the first {} and {} apart, is no part of at most {}",
            *id, grouped(*count), first, step, grouped(kMostParts)));
    return {number, *count};
}

std::string part_name(Part part, const char* kind) {
    return fmt::format("{}-{:04}-of-{:04}.db", kind, part.number + 1, part.count);
}

/// The part that a file of the folder is, by its name.
std::optional<Part> part_named(const std::string& name, const char* kind) {
    constexpr std::size_t kLength = 20, kNumberAt = 5, kCountAt = 13, kDigits = 4;
    if (name.size() != kLength) return std::nullopt;
    const std::string_view view = name;
    const auto number = parse_integer(view.substr(kNumberAt, kDigits));
    const auto count = parse_integer(view.substr(kCountAt, kDigits));
    if (!number || !count || *number < 1 || *number > *count) return std::nullopt;
    const Part part{static_cast<int>(*number) - 1, static_cast<int>(*count)};
    return part_name(part, kind) == name ? std::optional(part) : std::nullopt;
}

std::string numbers_text(const std::vector<int>& numbers) {
    constexpr std::size_t kShown = 10;
    std::vector<std::string> shown;
    for (std::size_t i = 0; i < std::min(kShown, numbers.size()); ++i)
        shown.push_back(std::to_string(numbers[i] + 1));
    std::string text = join(shown, ", ");
    if (numbers.size() > kShown) text += fmt::format(" and {} more", numbers.size() - kShown);
    return text;
}

/// The parts of a kind that lie there, by their number of parts and their own.
std::map<int, std::map<int, std::filesystem::path>> divisions_in(
    const std::filesystem::path& folder, const char* kind) {
    std::map<int, std::map<int, std::filesystem::path>> divisions;
    std::error_code error;
    for (const auto& entry : std::filesystem::directory_iterator(folder, error))
        if (const auto part = part_named(entry.path().filename().string(), kind))
            divisions[part->count][part->number] = entry.path();
    return divisions;
}

/// Why a part cannot be joined; empty when it can.
std::string fault_of(const Store& part, const StoredSettings& wanted) {
    const auto settings = part.settings();
    if (!settings) return "holds nothing yet";
    if (settings->hash != wanted.hash)
        return "was measured under other settings (" +
               printable(settings_difference(*settings, wanted)) + ")";
    if (part.note(kFinishedNote) != wanted.hash) return "is not finished";
    return {};
}

}  // namespace

Part parse_part(const std::string& text) {
    if (text.empty()) return part_of_array();
    const auto pieces = split(text, '/');
    // 0 stands for what is no number: no part is counted so.
    const std::int64_t number = parse_integer(pieces[0]).value_or(0);
    std::int64_t count = 0;
    if (pieces.size() == 2) count = parse_integer(pieces[1]).value_or(0);
    if (pieces.size() == 1) count = from_environment("SLURM_ARRAY_TASK_COUNT").value_or(0);
    if (count < 1 || count > kMostParts || number < 1 || number > count)
        throw_no_part(
            fmt::format("'{}' is no part of at most {}", printable(text), grouped(kMostParts)));
    return {static_cast<int>(number) - 1, static_cast<int>(count)};
}

std::filesystem::path part_file(const std::filesystem::path& survey_folder, Part part,
                                const char* kind) {
    return survey_folder / "hearwood" / "parts" / part_name(part, kind);
}

bool has_parts(const std::filesystem::path& survey_folder, const char* kind) {
    return !divisions_in(part_file(survey_folder, {}).parent_path(), kind).empty();
}

void mark_part_finished(Store& store) {
    store.begin();
    store.set_note(kFinishedNote, store.settings() ? store.settings()->hash : "");
    store.commit();
    store.make_durable();
}

std::vector<std::filesystem::path> finished_parts(const Survey& survey, const char* kind) {
    const auto folder = part_file(survey.folder, {}).parent_path();
    const auto divisions = divisions_in(folder, kind);
    const std::string command = kind == std::string_view(kEvenPart) ? "even" : "measure";
    const std::string shown = printable(folder.string());
    if (divisions.empty())
        throw InputError(shown + ": there are no parts",
                         fmt::format("measure them first: hearwood {} --part", command));
    if (divisions.size() > 1)
        throw InputError(fmt::format("{}: parts of different divisions lie here (of {} and of {})",
                                     shown, divisions.begin()->first, divisions.rbegin()->first),
                         "move the files of the division that is out of date away");

    const auto& [count, files] = *divisions.begin();
    std::vector<int> missing;
    for (int number = 0; number < count; ++number)
        if (!files.contains(number)) missing.push_back(number);
    std::vector<Problem> problems;
    if (!missing.empty())
        problems.push_back(
            {.file = folder.string(),
             .what = fmt::format("of {} parts these are missing: {}", count, numbers_text(missing)),
             .fix = "run their tasks, then gather again"});
    const StoredSettings wanted = measuring_settings(survey.measure);
    std::vector<std::filesystem::path> paths;
    for (const auto& [number, path] : files) {
        paths.push_back(path);
        const std::string fault = fault_of(Store::open_part_read_only(path), wanted);
        if (fault.empty()) continue;
        problems.push_back({.file = path.string(),
                            .what = fault,
                            .fix = fmt::format("run its task again: hearwood {} --part={}/{}",
                                               command, number + 1, count)});
    }
    if (!problems.empty()) throw InputError(std::move(problems));
    return paths;
}

GatherSummary gather(const Survey& survey, Store& store,
                     const std::vector<std::filesystem::path>& parts) {
    const StoredSettings wanted = measuring_settings(survey.measure);
    const auto before = store.settings();
    if (!before || before->hash != wanted.hash) {
        store.begin();
        store.replace_settings(wanted);
        store.commit();
    }
    GatherSummary summary;
    for (const auto& path : parts) {
        if (interrupted()) break;
        summary.recordings += store.join(Store::open_part_read_only(path));
        ++summary.parts;
    }
    store.make_durable();
    summary.segments = store.count_segments();
    return summary;
}

std::int64_t gather_even(Store& store, const std::vector<std::filesystem::path>& parts) {
    std::int64_t segments = 0;
    for (const auto& path : parts) {
        if (interrupted()) break;
        const Store part = Store::open_part_read_only(path);
        store.begin();
        part.for_each_recording([&](const RecordingRow& row) {
            const auto here = store.find(row.path);
            if (!here || here->size != row.size || here->mtime_ns != row.mtime_ns ||
                here->settings != row.settings)
                return;
            part.for_each_even_of(row.id, [&](const EvenRow& even) {
                store.put_even(here->id, even);
                ++segments;
            });
        });
        store.commit();
    }
    store.make_durable();
    return segments;
}

}  // namespace hearwood

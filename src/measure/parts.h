// A survey that is measured in parts, by the tasks of a cluster: every part has a database of its
// own in hearwood/parts/, and gather joins them into survey.db. Measuring on even terms has parts
// of its own kind.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// One of several parts. Counted from 0 here, from 1 in file names and for people.
struct Part {
    int number = 0;
    int count = 1;
    bool operator==(const Part&) const = default;
};

/// "3/10" (counted from 1), or "3" with the count, or nothing at all, from the environment of a
/// Slurm array: SLURM_ARRAY_TASK_ID, _COUNT, _MIN, _STEP. Errors: InputError.
Part parse_part(const std::string& text);

/// What a part holds, as its file's name begins.
inline constexpr const char* kMeasuredPart = "part";
inline constexpr const char* kEvenPart = "even";

/// hearwood/parts/part-0003-of-0010.db
std::filesystem::path part_file(const std::filesystem::path& survey_folder, Part part,
                                const char* kind = kMeasuredPart);
/// Whether any part of the kind lies there.
bool has_parts(const std::filesystem::path& survey_folder, const char* kind);

/// Notes in the part that all of its recordings are done, for gather.
void mark_part_finished(Store& store);

struct GatherSummary {
    int parts = 0;
    std::int64_t recordings = 0;  ///< copied in this run
    std::int64_t segments = 0;    ///< in the store afterwards
};

/// The parts that lie in hearwood/parts/, all of one division. Errors: InputError when there are
/// none, when one is missing, unfinished or of other settings, or when several divisions lie there:
/// nothing is joined.
std::vector<std::filesystem::path> finished_parts(const Survey& survey,
                                                  const char* kind = kMeasuredPart);

/// Joins the parts into the store. Doing it again changes nothing.
GatherSummary gather(const Survey& survey, Store& store,
                     const std::vector<std::filesystem::path>& parts);

/// Takes the values on even terms over from their parts, of recordings that are those of the store
/// still. Doing it again changes nothing. Returns how many segments have them.
std::int64_t gather_even(Store& store, const std::vector<std::filesystem::path>& parts);

}  // namespace hearwood

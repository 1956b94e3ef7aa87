#include "survey/inside.h"

#include <algorithm>
#include <system_error>

namespace hearwood {
namespace {

namespace fs = std::filesystem;

constexpr const char* kOwnFolder = "hearwood";

}  // namespace

bool leads_out(const fs::path& folder, const fs::path& relative) {
    std::error_code error;
    const fs::path root = fs::weakly_canonical(folder, error);
    if (error) return true;
    const fs::path real = fs::weakly_canonical(folder / relative, error);
    if (error) return true;
    // A link to what is not there stays in the path as it is; writing to it would make the target.
    if (fs::is_symlink(fs::symlink_status(real, error))) return true;
    return std::mismatch(root.begin(), root.end(), real.begin(), real.end()).first != root.end();
}

std::vector<Problem> links_out_of(const fs::path& survey_folder) {
    std::vector<Problem> problems;
    const auto check = [&](const fs::path& path) {
        const fs::path relative = path.lexically_relative(survey_folder);
        if (!leads_out(survey_folder, relative)) return;
        problems.push_back({.file = relative.string(),
                            .what = "a symbolic link leads out of the survey folder, and nothing "
                                    "outside is ever written",
                            .fix = "remove the link; to keep results on another disk, move the "
                                   "whole survey there"});
    };
    const fs::path own = survey_folder / kOwnFolder;
    std::error_code error;
    if (fs::is_symlink(fs::symlink_status(own, error))) check(own);
    if (!problems.empty()) return problems;  // or every name behind the link would be told
    const auto options = fs::directory_options::skip_permission_denied;
    std::vector<fs::path> links;
    for (fs::recursive_directory_iterator entry(own, options, error), end; !error && entry != end;
         entry.increment(error))
        if (entry->is_symlink(error)) links.push_back(entry->path());
    std::sort(links.begin(), links.end());
    for (const fs::path& link : links) check(link);
    return problems;
}

}  // namespace hearwood

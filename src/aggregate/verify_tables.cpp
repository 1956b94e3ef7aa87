#include "aggregate/verify_tables.h"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "aggregate/tables.h"
#include "base/file.h"
#include "base/sha256.h"
#include "base/text.h"
#include "measure/measure.h"
#include "platform/process.h"
#include "store/json.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

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

/// Empty where the resource has no such text: the package may have been altered.
std::string text_of(const nlohmann::json& resource, const char* name) {
    if (!resource.is_object()) return {};
    const auto found = resource.find(name);
    return found != resource.end() && found->is_string() ? found->get<std::string>()
                                                         : std::string();
}

/// Files of the data package against their sums in it.
void verify_package(const fs::path& tables, Lines& out, std::int64_t& files) {
    const auto package = read_json_if_any(read_whole_file(tables / "datapackage.json"));
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

}  // namespace

std::vector<std::string> verify_database(const Survey& survey, const Store& store) {
    Lines out;
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
    return out;
}

TablesVerified verify_tables(const Survey& survey, const Store& store, bool quiet) {
    TablesVerified verified;
    Lines& out = verified.disagreements;
    const fs::path tables = tables_folder(survey.folder);
    if (!fs::exists(tables / "datapackage.json")) {
        out.push_back("the tables have not been written yet: run 'hearwood tabulate'");
        return verified;
    }
    verify_package(tables, out, verified.files);
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
    return verified;
}

}  // namespace hearwood

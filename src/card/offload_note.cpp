#include "card/offload_note.h"

#include <nlohmann/json.hpp>

#include "base/file.h"
#include "card/file_copier.h"
#include "store/json.h"

namespace hearwood {

namespace {

constexpr std::string_view kUnfinished = "The run that began at ";

std::string kept_name(const std::string& deployment) {
    return "offload " + deployment;
}

}  // namespace

OffloadNote note_of(const OffloadResult& result) {
    const bool all = result.all_proved() && result.closed && !result.files.empty();
    return {result.may_wipe(), result.why_not(), all ? result.disks() : 0};
}

void keep_note(Store& store, const std::string& deployment, const OffloadNote& note) {
    const nlohmann::json json = {
        {"may_wipe", note.may_wipe}, {"why_not", note.why_not}, {"disks", note.disks}};
    store.keep_result({kept_name(deployment), "", json_text(json)});
}

bool half_copied(const Store& store, const std::string& deployment) {
    const auto note = kept_note(store, deployment);
    return note && note->disks == 0;
}

std::optional<OffloadNote> kept_note(const Store& store, const std::string& deployment) {
    const auto kept = store.kept_result(kept_name(deployment));
    if (!kept) return {};
    const auto json = read_json_if_any(kept->json);
    if (!json.is_object()) return {};
    return OffloadNote{json.value("may_wipe", false), json.value("why_not", ""),
                       json.value("disks", std::size_t{0})};
}

std::string unfinished_report(const std::string& began) {
    return std::string(kUnfinished) + began +
           " has not come to its end.\nDO NOT WIPE THE CARD: run the same command again.\n";
}

bool is_unfinished(const std::filesystem::path& folder) {
    std::error_code error;
    const std::filesystem::path report = folder / kOffloadReport;
    return std::filesystem::exists(report, error) &&
           read_whole_file(report, kMostReport).starts_with(kUnfinished);
}

}  // namespace hearwood

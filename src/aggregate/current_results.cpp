// Results of different settings are never mixed in one table: this is the gate.
#include "aggregate/judged_segments.h"
#include "base/text.h"
#include "measure/measure.h"

namespace hearwood {

void require_current_results(const Survey& survey, const Store& store) {
    const std::string command = "run 'hearwood measure' on the survey";
    const auto stored = store.settings();
    if (!stored)
        throw InputError("nothing in this survey has been measured yet", command + " first");
    const StoredSettings wanted = measuring_settings(survey.measure);
    if (stored->hash != wanted.hash)
        throw InputError("the results in hearwood/survey.db were measured under other settings (" +
                             settings_difference(*stored, wanted) + ")",
                         command + ", which measures anew, or put the settings back");
    std::int64_t other_pattern = 0;
    std::string example;
    const auto look = [&](const RecordingRow& row) {
        const bool was_opened = row.state == RecordingState::measured ||
                                row.state == RecordingState::damaged ||
                                row.state == RecordingState::no_start_time;
        if (!was_opened || row.gone || row.start_pattern == survey.start_time_pattern) return;
        if (other_pattern++ == 0) example = row.path;
    };
    for (const Deployment& deployment : survey.deployments)
        store.for_each_recording_of(deployment.name, look);
    if (other_pattern > 0)
        throw InputError("the start times of " + counted(other_pattern, "recording") + " (" +
                             printable(name_from_utf8(example)) +
                             ") were read with another [names].start_time than survey.toml has now",
                         command + ", which reads them again");
}

}  // namespace hearwood

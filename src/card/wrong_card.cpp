#include "card/wrong_card.h"

#include <fmt/format.h>

#include <algorithm>

#include "audio/recorder_mark.h"
#include "audio/start_time.h"
#include "base/text.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

std::string quoted(const std::string& text) {
    return "\"" + printable(text) + "\"";
}

std::string list(const std::set<std::string>& marks) {
    std::vector<std::string> shown;
    for (const std::string& mark : marks) shown.push_back(quoted(mark));
    return join(shown, ", ");
}

std::string recorder_of(const Deployment& deployment) {
    return deployment.recorder.empty() ? "" : " (recorder " + quoted(deployment.recorder) + ")";
}

}  // namespace

KnownRecorders::KnownRecorders(const Survey& survey, const Store& store) : survey_(survey) {
    const StartTimeReader names(survey.start_time_pattern);
    store.for_each_recording([&](const RecordingRow& row) {
        if (row.card_path.empty()) return;
        Marks& marks = by_deployment_[row.deployment];
        const std::string prefix = names.prefix_of(name_from_utf8(row.card_path));
        if (identifies(prefix)) marks.prefixes.insert(prefix);
        if (!row.serial.empty()) marks.serials.insert(row.serial);
    });
}

void KnownRecorders::compare(const Deployment& deployment, const std::string& mark,
                             const std::string& what, std::set<std::string> Marks::*seen,
                             std::vector<std::string>& found) const {
    if (mark.empty()) return;
    const auto own = by_deployment_.find(deployment.name);
    if (own != by_deployment_.end() && !(own->second.*seen).empty() &&
        !(own->second.*seen).contains(mark))
        found.push_back(fmt::format("{} is {}; what was copied for {} before has {}", what,
                                    quoted(mark), quoted(deployment.name),
                                    list(own->second.*seen)));
    const bool fits_recorder = bare_mark(deployment.recorder) == bare_mark(mark);
    for (const Deployment& other : survey_.deployments) {
        // Without a recorder in the sheet, or with the same one, the recorder may simply have
        // moved.
        if (other.name == deployment.name || other.recorder.empty() || deployment.recorder.empty())
            continue;
        if (other.recorder == deployment.recorder || fits_recorder) continue;
        const auto marks = by_deployment_.find(other.name);
        if (marks != by_deployment_.end() && (marks->second.*seen).contains(mark)) {
            found.push_back(fmt::format(
                "{} is {}, as on the card of {}{}, which is another recorder than that of {}{}",
                what, quoted(mark), quoted(other.name), recorder_of(other), quoted(deployment.name),
                recorder_of(deployment)));
            return;
        }
        if (bare_mark(other.recorder) == bare_mark(mark)) {
            found.push_back(fmt::format("{} is {}, the recorder of {}, not of {}{}", what,
                                        quoted(mark), quoted(other.name), quoted(deployment.name),
                                        recorder_of(deployment)));
            return;
        }
    }
}

std::vector<std::string> KnownRecorders::misfits(const Deployment& deployment,
                                                 const std::string& prefix,
                                                 const std::string& serial) const {
    std::vector<std::string> found;
    compare(deployment, prefix, "the beginning of its files' names", &Marks::prefixes, found);
    compare(deployment, serial, "the serial number in its files", &Marks::serials, found);
    return found;
}

std::string times_misfit(const Survey& survey, const Deployment& deployment,
                         std::span<const Instant> starts) {
    if (starts.empty() || (!deployment.start && !deployment.end)) return {};
    const Zone zone = Zone::named(survey.time_zone);
    const auto outside = [&](Instant start) {
        const LocalTime local = zone.to_local(start).time;
        return (deployment.start && local < *deployment.start) ||
               (deployment.end && local >= *deployment.end);
    };
    const auto count =
        static_cast<std::size_t>(std::count_if(starts.begin(), starts.end(), outside));
    if (2 * count <= starts.size()) return {};
    const auto [first, last] = std::minmax_element(starts.begin(), starts.end());
    const auto date = [&zone](Instant instant) {
        return format_date(std::chrono::floor<std::chrono::days>(zone.to_local(instant).time));
    };
    const auto edge = [](const std::optional<LocalTime>& time, const char* none) {
        return time ? format_date(std::chrono::floor<std::chrono::days>(*time)) : std::string(none);
    };
    return fmt::format(
        "{} of its {} recordings with a time begin outside the deployment: they run from {} to {}, "
        "the deployment from {} to {}",
        grouped(count), grouped(starts.size()), date(*first), date(*last),
        edge(deployment.start, "its unknown start"), edge(deployment.end, "its unknown end"));
}

}  // namespace hearwood

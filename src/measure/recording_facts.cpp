#include "measure/recording_facts.h"

#include <fmt/core.h>

#include "base/text.h"

namespace hearwood {

namespace {

/// Failures that may go away without a change of the file: it is looked at again in the next run.
bool may_pass(UnreadableKind kind) {
    return kind == UnreadableKind::missing || kind == UnreadableKind::no_permission ||
           kind == UnreadableKind::io_error;
}

void forget_contents(RecordingRow& row) {
    row.start.reset();
    row.start_offset_s.reset();
    row.start_source.clear();
    row.sample_rate = row.channels = row.bits = 0;
    row.format.clear();
    row.serial.clear();
    row.frames = row.spoilt_segments = 0;
    row.lost_s = 0;
    row.reason.clear();
}

void take_start(RecordingRow& row, const std::optional<RecordedStart>& start) {
    if (!start) return;
    row.start = start->wall;
    row.start_source = name_of(start->source);
    if (start->utc_offset)
        row.start_offset_s = static_cast<int>(std::chrono::seconds(*start->utc_offset).count());
}

void take_shape(RecordingRow& row, const AudioFile& file) {
    const AudioInfo& info = file.info();
    row.sample_rate = info.sample_rate;
    row.channels = info.channels;
    row.bits = info.bits;
    row.format = info.container;
    row.frames = static_cast<std::int64_t>(info.frames);
    row.serial = name_to_utf8(recorder_serial(file.metadata()));
    for (const Damage& damage : file.damages()) row.lost_s += damage.seconds_lost;
}

}  // namespace

RecordingFacts::RecordingFacts(const Survey& survey, std::string settings_hash)
    : starts_(survey.start_time_pattern),
      pattern_(survey.start_time_pattern),
      settings_hash_(std::move(settings_hash)) {
    for (std::size_t d = 0; d < survey.deployments.size(); ++d)
        if (const int rate = decided_rate_of(survey, d)) rates_[survey.deployments[d].name] = rate;
}

int RecordingFacts::decided_rate(const std::string& deployment) const {
    const auto found = rates_.find(deployment);
    return found == rates_.end() ? 0 : found->second;
}

std::optional<OpenRecording> RecordingFacts::open(const std::filesystem::path& path,
                                                  RecordingRow& row) const {
    forget_contents(row);
    row.gone = false;
    const int rate = decided_rate(row.deployment);
    row.settings = results_hash(settings_hash_, rate);
    row.start_pattern = pattern_;
    row.state = RecordingState::pending;
    auto opened = open_audio(path);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) {
        row.state = RecordingState::unreadable;
        row.reason = bad->reason;
        if (may_pass(bad->kind)) row.settings.clear();
        take_start(row, starts_.from_name(name_from_utf8(row.path)));
        return std::nullopt;
    }
    OpenRecording recording(path, std::move(std::get<AudioFile>(opened)));
    take_shape(row, recording.file());
    take_start(row, starts_.start_of(name_from_utf8(row.path), recording.file().metadata()));
    if (rate > row.sample_rate) {
        row.state = RecordingState::unreadable;
        row.reason = fmt::format(
            "it has {} Hz, and a decision says to measure it at {} Hz: a rate can only be lowered",
            row.sample_rate, rate);
        return std::nullopt;
    }
    if (!row.start) {
        row.state = RecordingState::no_start_time;
        row.reason = "neither its name nor its header says when it began";
    }
    return recording;
}

void RecordingFacts::conclude(RecordingRow& row, const std::vector<Damage>& damages,
                              const Losses& losses) {
    std::vector<std::string> reasons;
    if (!row.reason.empty()) reasons.push_back(row.reason);
    for (const Damage& damage : damages) reasons.push_back(describe(damage));
    if (losses.unread_frames > 0) {
        const double seconds = static_cast<double>(losses.unread_frames) / row.sample_rate;
        row.lost_s += seconds;
        reasons.push_back(fmt::format("{:.3f} s could not be read{}", seconds,
                                      losses.failure.empty() ? "" : " (" + losses.failure + ")"));
    }
    // The disk may give next time what it did not give now: a time that no file has makes the next
    // run look at it again.
    if (losses.read_error) row.mtime_ns = 0;
    if (row.salvaged())
        reasons.push_back(
            "parts of it could not be read from the card and are silence in the copy");
    row.spoilt_segments += losses.spoilt_segments;
    if (row.spoilt_segments > 0)
        reasons.push_back("samples that are no numbers (NaN or infinite), in " +
                          counted(row.spoilt_segments, "segment"));
    row.state = reasons.empty() ? RecordingState::measured : RecordingState::damaged;
    row.reason = join(reasons, "; ");
}

}  // namespace hearwood

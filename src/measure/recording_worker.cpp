#include "measure/recording_worker.h"

#include <fmt/core.h>

#include <algorithm>

#include "base/error.h"
#include "base/interrupt.h"
#include "base/sha256.h"

namespace hearwood {

namespace {

/// Where an interrupted run stopped: behind the segments that are there with all their channels. A
/// run that met read failures is not gone on with, so that what is told of them is whole.
std::int64_t resume_at(const RecordingRow& before, std::int64_t rows_there,
                       const RecordingRow& now) {
    const bool same_shape = before.channels == now.channels && before.frames == now.frames &&
                            before.sample_rate == now.sample_rate;
    if (!same_shape || !before.reason.empty() || now.channels == 0 ||
        rows_there % now.channels != 0)
        return 0;
    return rows_there / now.channels;
}

std::string hash_of(const std::filesystem::path& path) {
    try {
        return sha256_of_file(path);
    } catch (const MachineError&) {
        return {};  // a file that cannot be read to its end has no sum; measuring has told why
    }
}

}  // namespace

void RecordingWorker::open(RecordingInWork& recording) {
    recording.row = recording.task.row;
    file_ = facts_.open(recording.path, recording.row);
    if (!file_ || recording.row.state != RecordingState::pending) return;
    if (recording.row.salvaged()) file_->expect_holes();
    file_->measure_at(facts_.decided_rate(recording.row.deployment));
    recording.damages = file_->file().damages();
    if (recording.task.kind != Task::Kind::measure) return;
    const SegmentLayout layout = measurer_.layout(*file_);
    recording.segments = layout.count();
    if (recording.segments == 0) {
        recording.row.state = RecordingState::unreadable;
        recording.row.reason = fmt::format("too short: {} samples, and one frame has {}",
                                           layout.frames, layout.shortest);
        return;
    }
    recording.resume_at =
        std::min(resume_at(recording.task.row, recording.task.rows_there, recording.row),
                 recording.segments);
    if (recording.resume_at > 0) recording.row.spoilt_segments = recording.task.row.spoilt_segments;
}

void RecordingWorker::measure_whole(const std::filesystem::path& path, RecordingRow& row,
                                    const std::function<void(MeasuredSegment&&)>& use) {
    RecordingInWork recording;
    recording.task.row = row;
    recording.path = path;
    open(recording);
    if (recording.row.state == RecordingState::pending) {
        Losses losses;
        measurer_.measure(
            *file_, 0, recording.segments, [] { return false; }, use, losses);
        RecordingFacts::conclude(recording.row, recording.damages, losses);
    }
    row = std::move(recording.row);
}

OpenRecording* RecordingWorker::opened(const RecordingInWork& recording) {
    if (file_ && file_->path() == recording.path) return &*file_;
    auto again = open_audio(recording.path);
    auto* file = std::get_if<AudioFile>(&again);
    if (!file) return nullptr;
    file_.emplace(recording.path, std::move(*file));
    if (recording.row.salvaged()) file_->expect_holes();
    file_->measure_at(facts_.decided_rate(recording.row.deployment));
    return &*file_;
}

PieceDone RecordingWorker::work(const Piece& piece) {
    PieceDone done;
    done.piece = piece;
    RecordingInWork& recording = *piece.recording;
    if (!piece.opened) {
        if (recording.task.kind == Task::Kind::hash)
            recording.row = recording.task.row;
        else
            open(recording);
        done.piece.from = recording.resume_at;
        done.piece.to = recording.segments;
    }
    done.done_to = done.piece.to;
    const bool measures = recording.task.kind == Task::Kind::measure &&
                          recording.row.state == RecordingState::pending;
    if (measures && done.piece.from < done.piece.to) {
        // Pieces that were cut are short and always finished, so that what is stored has no holes.
        const bool may_stop = piece.first && piece.last;
        if (OpenRecording* file = opened(recording)) {
            done.done_to = measurer_.measure(
                *file, done.piece.from, done.piece.to, [&] { return may_stop && interrupted(); },
                [&](MeasuredSegment&& row) { done.rows.push_back(std::move(row)); }, done.losses);
        } else {
            done.losses.failure = "it could not be opened again";
            done.losses.unread_frames = (done.piece.to - done.piece.from) *
                                        measurer_.segment_samples(recording.row.sample_rate);
        }
    }
    const bool wants_hash = recording.row.state != RecordingState::unreadable &&
                            (recording.task.changed || (hash_ && recording.row.sha256.empty()));
    if (piece.last && wants_hash && done.done_to == done.piece.to)
        done.sha256 = hash_of(recording.path);
    return done;
}

}  // namespace hearwood

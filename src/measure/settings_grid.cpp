#include "measure/settings_grid.h"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <optional>
#include <utility>
#include <variant>

#include "base/interrupt.h"
#include "base/parallel.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "index/catalogue.h"
#include "index/index_values.h"
#include "measure/feed_samples.h"
#include "measure/measure.h"
#include "measure/measured_rate.h"
#include "measure/segment_measurer.h"
#include "measure/survey_walk.h"

namespace hearwood {

namespace {

/// Settings that share frames and steps share an analyser; bands and range are read off its
/// summary.
struct Transform {
    MeasureSettings settings;
    std::vector<std::size_t> members;  ///< into SettingsGrid::settings
};

bool same_transform(const MeasureSettings& a, const MeasureSettings& b) {
    return a.frame == b.frame && a.hop == b.hop && a.step_s == b.step_s;
}

std::vector<Transform> transforms_of(const SettingsGrid& grid) {
    std::vector<Transform> transforms;
    for (std::size_t i = 0; i < grid.settings.size(); ++i) {
        const auto place =
            std::find_if(transforms.begin(), transforms.end(), [&](const Transform& transform) {
                return same_transform(transform.settings, grid.settings[i]);
            });
        if (place == transforms.end())
            transforms.push_back({grid.settings[i], {i}});
        else
            place->members.push_back(i);
    }
    return transforms;
}

std::size_t place_of(const std::string& index, const MeasureSettings& settings) {
    const std::vector<Column> columns = index_columns(settings);
    const auto place = std::find_if(columns.begin(), columns.end(),
                                    [&](const Column& column) { return column.name == index; });
    if (place == columns.end())
        throw InputError(
            "robustness cannot vary '" + index +
                "': it measures an index of segments.csv again under each setting, and "
                "not what depends on all sites together",
            "declare one of those as the primary outcome for it, " + columns.front().name + " say");
    return static_cast<std::size_t>(place - columns.begin());
}

StoredSettings settings_of(const SettingsGrid& grid) {
    StoredSettings stored;
    stored.version = kMeasuringVersion;
    stored.json = "[\"" + grid.index + "\"";
    for (std::size_t i = 0; i < grid.settings.size(); ++i) {
        stored.json += "," + measuring_settings(grid.settings[i]).json;
        stored.columns.push_back(std::to_string(i));
    }
    stored.json += "]";
    stored.hash = sha256_of(std::to_string(stored.version) + stored.json);
    return stored;
}

/// The work of one thread: a recording in, its rows out.
class GridWorker {
  public:
    explicit GridWorker(const SettingsGrid& grid)
        : grid_(grid), index_(place_of(grid.index, grid.settings.front())) {
        for (Transform& transform : transforms_of(grid))
            transforms_.emplace_back(std::move(transform), std::vector<SegmentAnalyser>());
    }

    /// False when the recording cannot be opened.
    /// `decided_rate`: the rate to measure it at; 0: its own.
    bool measure(const std::filesystem::path& path, int decided_rate,
                 std::vector<MeasuredSegment>& rows) {
        auto opened = open_audio(path);
        auto* file = std::get_if<AudioFile>(&opened);
        if (!file) return false;
        OpenRecording recording(path, std::move(*file));
        recording.measure_at(decided_rate);
        const AudioInfo info = recording.info();
        const int at_once = channels_at_once(info);
        prepare(recording, at_once);
        const std::int64_t whole = std::llrint(grid_.settings.front().segment_s * info.sample_rate);
        // Shorter segments are never averaged with whole ones, so they are not wanted here.
        const std::int64_t count = static_cast<std::int64_t>(info.frames) / whole;
        for (std::int64_t segment = 0; segment < count && !interrupted(); ++segment)
            for (int channel = 0; channel < info.channels; channel += at_once)
                measure_segment(recording, segment, whole, channel,
                                std::min(channel + at_once, info.channels), rows);
        return true;
    }

  private:
    void prepare(const OpenRecording& recording, int at_once) {
        const int rate = recording.measured_rate();
        for (auto& [transform, analysers] : transforms_) {
            if (rate != sample_rate_) analysers.clear();
            while (static_cast<int>(analysers.size()) < at_once)
                analysers.emplace_back(transform.settings, rate);
        }
        sample_rate_ = rate;
        make_room(buffer_, recording.info());
    }

    void measure_segment(OpenRecording& recording, std::int64_t segment, std::int64_t whole,
                         int from, int to, std::vector<MeasuredSegment>& rows) {
        const AudioInfo& info = recording.info();
        const bool resampled = recording.measured_rate() != info.sample_rate;
        for (auto& [transform, analysers] : transforms_)
            for (int c = from; c < to; ++c)
                analysers[c - from].begin(resampled ? 0 : code_bits(info));
        if (resampled ? !feed_resampled(recording, segment * whole, whole, from, to)
                      : !feed(recording, segment * whole, whole, from, to))
            return;
        for (int c = from; c < to; ++c) {
            MeasuredSegment result;
            result.row.channel = c;
            result.row.segment = static_cast<int>(segment);
            result.row.first_sample = segment * whole;
            result.row.samples = whole;
            result.row.values = values(c - from);
            rows.push_back(std::move(result));
        }
    }

    /// False when not all of it could be read.
    bool feed(OpenRecording& recording, std::int64_t first, std::int64_t whole, int from, int to) {
        const AudioInfo& info = recording.info();
        Losses losses;
        for (std::int64_t done = 0; done < whole;) {
            const auto wanted = static_cast<std::size_t>(std::min(kReadBlock, whole - done));
            const std::size_t got = recording.read(first + done, buffer_.data(), wanted, losses);
            for (auto& [transform, analysers] : transforms_)
                feed_samples(info.format, analysers, buffer_.data(), got, info.channels, from, to);
            done += static_cast<std::int64_t>(got);
            if (got < wanted) return false;
        }
        return true;
    }

    bool feed_resampled(OpenRecording& recording, std::int64_t first, std::int64_t whole, int from,
                        int to) {
        const int channels = recording.info().channels;
        Losses losses;
        ResampledReader reader(recording.measured_rate());
        return reader.read(
                   recording, first, whole, transforms_.front().second.front().segment_samples(),
                   [](const void*, std::size_t) { return true; }, [](std::span<const double>) {},
                   [&](std::span<const double> block) {
                       for (auto& [transform, analysers] : transforms_)
                           feed_samples(SampleFormat::float64, analysers, block.data(),
                                        block.size() / static_cast<std::size_t>(channels), channels,
                                        from, to);
                   },
                   losses) == whole;
    }

    /// Of one channel, parallel to the settings.
    std::vector<double> values(int analyser) {
        std::vector<double> row(grid_.settings.size());
        for (auto& [transform, analysers] : transforms_) {
            const SegmentSummary& summary = analysers[analyser].finish();
            for (const std::size_t member : transform.members)
                row[member] = index_values(summary, grid_.settings[member])[index_];
        }
        return row;
    }

    const SettingsGrid& grid_;
    std::size_t index_;
    std::vector<std::pair<Transform, std::vector<SegmentAnalyser>>> transforms_;
    int sample_rate_ = 0;
    ReadBuffer buffer_;
};

bool has_results(const RecordingRow& row) {
    return row.state == RecordingState::measured || row.state == RecordingState::damaged;
}

/// Hands recordings to threads and takes their rows, one commit a recording.
class GridRun {
  public:
    GridRun(const Survey& survey, Store& grid, const SettingsGrid& what)
        : survey_(survey), grid_(grid), what_(what), hash_(grid.settings()->hash) {}

    void look(const Store& measured) {
        measured.for_each_recording([&](const RecordingRow& row) {
            if (!has_results(row) || row.gone) return;
            const std::optional<RecordingRow> known = grid_.find(row.path);
            const bool same = known && known->settings == hash_of(row) && known->size == row.size &&
                              known->mtime_ns == row.mtime_ns;
            if (same)
                ++summary_.unchanged;
            else
                tasks_.push_back(row);
        });
    }

    GridSummary run(int jobs, bool quiet) {
        Progress progress("measuring under other settings", "recordings", tasks_.size(), quiet);
        std::vector<std::optional<GridWorker>> workers(static_cast<std::size_t>(std::max(jobs, 1)));
        parallel_for(tasks_.size(), jobs, [&](std::size_t task, std::size_t worker) {
            if (!workers[worker]) workers[worker].emplace(what_);
            if (measure(tasks_[task], *workers[worker])) progress.add();
        });
        progress.finish();
        summary_.interrupted = interrupted();
        return summary_;
    }

  private:
    int rate_of(const RecordingRow& row) const {
        for (std::size_t d = 0; d < survey_.deployments.size(); ++d)
            if (survey_.deployments[d].name == row.deployment) return decided_rate_of(survey_, d);
        return 0;
    }
    std::string hash_of(const RecordingRow& row) const { return results_hash(hash_, rate_of(row)); }

    /// False when interrupted: nothing of it is kept.
    bool measure(const RecordingRow& row, GridWorker& worker) {
        std::vector<MeasuredSegment> rows;
        const bool opened = worker.measure(disk_path(survey_, row), rate_of(row), rows);
        if (interrupted()) return false;
        store(row, opened, rows);
        return true;
    }

    void store(const RecordingRow& row, bool opened, const std::vector<MeasuredSegment>& rows) {
        const std::lock_guard lock(mutex_);
        if (!opened) {
            ++summary_.failed;
            return;
        }
        replace_grid_rows(grid_, row, hash_of(row), rows);
        ++summary_.measured;
    }

    const Survey& survey_;
    Store& grid_;
    const SettingsGrid& what_;
    std::string hash_;
    std::vector<RecordingRow> tasks_;
    std::mutex mutex_;
    GridSummary summary_;
};

}  // namespace

void keep_grid_settings(Store& grid, const StoredSettings& settings) {
    const std::optional<StoredSettings> there = grid.settings();
    if (there && there->hash == settings.hash) return;
    grid.begin();
    grid.replace_settings(settings);
    grid.commit();
}

void replace_grid_rows(Store& grid, RecordingRow row, const std::string& hash,
                       const std::vector<MeasuredSegment>& segments) {
    row.settings = hash;
    row.id = 0;
    grid.begin();
    const std::int64_t id = grid.put(row);
    grid.delete_results(id);
    grid.append(id, segments);
    // Set again: dropping results makes a recording pending.
    row.id = id;
    grid.put(row);
    grid.commit();
}

GridSummary measure_grid(const Survey& survey, const Store& measured, Store& grid,
                         const SettingsGrid& what, int jobs, bool quiet) {
    keep_grid_settings(grid, settings_of(what));
    GridRun run(survey, grid, what);
    run.look(measured);
    return run.run(jobs, quiet);
}

}  // namespace hearwood

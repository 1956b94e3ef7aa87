// survey.db: what has been found and measured, in one SQLite file that any client can read
// (docs/database.md). The store keeps names, numbers and bytes; what a column means is known
// further up.
//
// One program writes at a time (hearwood/writer.lock); any number may read meanwhile. All results
// in a store were measured under one set of settings: other settings first empty it
// (replace_settings). Errors: MachineError for the disk and for SQLite; InputError for a file that
// is not such a store, is of a newer schema, or is not there. Objects are used by one thread at a
// time.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "store/recording_row.h"

namespace hearwood {

/// What all results of a store were measured under.
struct StoredSettings {
    std::string hash;                  ///< SHA-256 of version and json
    std::string json;                  ///< canonical JSON of the settings, keys sorted
    int version = 0;                   ///< of the measuring code: raised when any number changes
    std::vector<std::string> columns;  ///< of a segment's values, in order
};

/// One channel of one segment. Missing values are NaN here and NULL in the database.
struct SegmentRow {
    int channel = 0;
    int segment = 0;
    std::int64_t first_sample = 0;  ///< of the file
    std::int64_t samples = 0;
    bool complete = true;
    std::vector<double> values;  ///< parallel to StoredSettings::columns
};

/// A result that took long to make, kept with what it was made under and from.
struct KeptResult {
    std::string name;         ///< "robustness"
    std::string fingerprint;  ///< of its plan and its values: another one now means that it is old
    std::string json;
};

/// A segment measured once more on even terms.
struct EvenRow {
    int channel = 0;
    int segment = 0;
    std::int64_t terms = 0;      ///< what the terms were: others make it old
    std::vector<double> values;  ///< aci, ndsi, bi, standout, events; NaN: missing
};
inline constexpr int kEvenValues = 5;

struct MeasuredSegment {
    SegmentRow row;
    std::string spectra;  ///< bytes of index/kept_spectrum.h; empty: none kept
    std::string sounds;   ///< bytes of index/kept_sounds.h; empty: none kept
};

class WriterLock;

class Store {
  public:
    /// hearwood/survey.db of a survey folder.
    static std::filesystem::path path_in(const std::filesystem::path& survey_folder);
    static bool exists(const std::filesystem::path& survey_folder);

    /// For writing; makes the file when it is not there. While another program writes to this
    /// survey it says so on stderr and waits; Ctrl-C ends the waiting with an InputError.
    static Store open(const std::filesystem::path& survey_folder);
    /// The same without waiting: nothing while another program writes to this survey.
    static std::optional<Store> open_if_free(const std::filesystem::path& survey_folder);
    /// For reading only. InputError "not measured yet" when there is no file.
    static Store open_read_only(const std::filesystem::path& survey_folder);
    /// A database file of its own, such as one part of a cluster's work: never shared between
    /// machines while it is written, so that it may lie on a network file system.
    static Store open_part(const std::filesystem::path& file);
    static Store open_part_read_only(const std::filesystem::path& file);

    /// As the file stands, with no lock and no side files: for a survey.db that nobody writes to
    /// meanwhile, seen from many machines at once. What was committed last may be missing.
    static Store open_snapshot(const std::filesystem::path& survey_folder);
    /// A store of nothing, in memory: for saying what would be done in a survey without one.
    static Store empty();
    /// For reading; of nothing when there is no file.
    static Store open_or_empty(const std::filesystem::path& survey_folder);

    Store(Store&&) noexcept;
    Store& operator=(Store&&) noexcept;
    ~Store();

    // --- Transactions. Everything below that writes belongs between begin() and commit():
    // thousands of rows at a time are fast, single ones are not. A Store that is destroyed first
    // rolls back.
    void begin();
    void commit();
    /// Ends a transaction that failed; does nothing where there is none.
    void roll_back() noexcept;
    /// Everything committed so far survives a power cut (commit alone survives a killed program).
    /// Waits for the disk and never for a program that reads.
    void make_durable();
    /// Brings what is committed from the log into the file itself, as far as that can be done
    /// without waiting for a program that reads.
    void settle();
    /// How long a write waits for another program's lock before it fails; a minute, if not set.
    void wait_at_most(std::chrono::milliseconds time);

    // --- Settings and notes.
    std::optional<StoredSettings> settings() const;
    /// Makes these the store's settings. If others stood there all their results are deleted, and
    /// every recording that had results is pending again.
    void replace_settings(const StoredSettings& settings);
    /// Small facts about the whole: "program_version", "survey_toml_sha256" ... Empty when never
    /// set.
    std::string note(std::string_view key) const;
    void set_note(std::string_view key, std::string_view value);

    // --- Recordings.
    std::optional<RecordingRow> find(std::string_view path) const;
    std::optional<RecordingRow> find_sha256(std::string_view sha256) const;
    /// Inserts, or replaces the row with the same path; returns its id. Does not touch segments.
    std::int64_t put(const RecordingRow& recording);
    /// Gives a recording another path, which no other has; its results stay.
    void move(std::int64_t recording, std::string_view path);
    std::int64_t count_recordings() const;
    /// In the order of every table: deployment, start (those without one last), path. The callback
    /// must not write to the store.
    void for_each_recording(const std::function<void(const RecordingRow&)>& use) const;
    void for_each_recording_of(std::string_view deployment,
                               const std::function<void(const RecordingRow&)>& use) const;
    /// Those that are not `measured`, in the same order.
    void for_each_unusable(const std::function<void(const RecordingRow&)>& use) const;

    // --- Results.
    /// Adds rows of one recording; (channel, segment) must not be there yet.
    void append(std::int64_t recording, std::span<const MeasuredSegment> segments);
    void delete_results(std::int64_t recording);
    /// Removes a recording and its results.
    void forget(std::int64_t recording);
    std::int64_t count_segments() const;
    std::int64_t count_segments_of(std::int64_t recording) const;
    /// Segments of one recording by channel, segment.
    void for_each_segment_of(std::int64_t recording,
                             const std::function<void(const SegmentRow&)>& use) const;
    /// The values of one segment; nothing when there is no such row.
    std::optional<std::vector<double>> segment_values(std::int64_t recording, int channel,
                                                      int segment) const;
    /// All segments: recordings in the order of for_each_recording, then channel, then segment.
    /// Streams.
    void for_each_segment(
        const std::function<void(const RecordingRow&, const SegmentRow&)>& use) const;
    /// Kept spectra of one recording by channel, segment.
    void for_each_spectrum_of(
        std::int64_t recording,
        const std::function<void(int channel, int segment, std::string_view bytes)>& use) const;
    /// Kept sounds of one recording by channel, segment.
    void for_each_sounds_of(
        std::int64_t recording,
        const std::function<void(int channel, int segment, std::string_view bytes)>& use) const;
    /// Values on even terms of one recording by channel, segment.
    void for_each_even_of(std::int64_t recording,
                          const std::function<void(const EvenRow&)>& use) const;
    /// Puts values on even terms in the place of those that are there.
    void put_even(std::int64_t recording, const EvenRow& row);
    /// Kept spectrum of one segment; empty when there is none.
    std::string spectrum(std::int64_t recording, int channel, int segment) const;

    // --- Results that later stages keep; what they mean is known further up.
    std::optional<KeptResult> kept_result(std::string_view name) const;
    /// Takes the place of the one of that name.
    void keep_result(const KeptResult& result);

    // --- Joining.
    /// Copies the finished recordings of the part with their results into this store, in
    /// transactions of its own; those that stand here already with the same file and settings are
    /// left alone, so that joining again does nothing. Proofs of copies that stand here are kept.
    /// REQUIRES the same settings on both sides and no transaction under way. Returns the
    /// recordings copied.
    std::int64_t join(const Store& part);

    /// SQLite's own check of the file and of the references in it; empty when all is well.
    std::vector<std::string> integrity_problems() const;

  private:
    struct Impl;
    explicit Store(std::unique_ptr<Impl> impl);
    static Store open_locked(const std::filesystem::path& survey_folder,
                             std::unique_ptr<WriterLock> lock);
    std::unique_ptr<Impl> impl_;
};

/// Keeps results in the survey's store, which is opened for writing and closed again; they are safe
/// on the disk then.
void keep_results(const std::filesystem::path& survey_folder, std::span<const KeptResult> results);

}  // namespace hearwood

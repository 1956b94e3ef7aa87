// Store: taking over the results of a part of the survey that was measured elsewhere.
#include <string>

#include "base/error.h"
#include "base/text.h"
#include "store/schema.h"
#include "store/store_impl.h"

namespace hearwood {

namespace {

constexpr std::int64_t kRowsPerCommit = 20'000;

bool same_file(const RecordingRow& a, const RecordingRow& b) {
    return a.size == b.size && a.mtime_ns == b.mtime_ns;
}

/// The part's row, with what only this store can know of the file: the proof of its copy.
RecordingRow merged(RecordingRow row, const std::optional<RecordingRow>& here) {
    if (!here || !same_file(row, *here)) return row;
    if (row.sha256.empty()) row.sha256 = here->sha256;
    row.proved = here->proved;
    row.card_path = here->card_path;
    return row;
}

/// The other database under the name "part" for as long as this lives.
class Attached {
  public:
    Attached(Database& database, const std::filesystem::path& file) : database_(database) {
        Statement attach(database, "ATTACH ? AS part");
        const std::string name = file.string();
        attach.bind(1, std::string_view(name));
        attach.run();
    }
    ~Attached() {
        try {
            if (database_.in_transaction()) database_.run("ROLLBACK");
            database_.run("DETACH part");
        } catch (const MachineError&) {
            // The error that is already on its way out says more.
        }
    }
    Attached(const Attached&) = delete;
    Attached& operator=(const Attached&) = delete;

  private:
    Database& database_;
};

std::string copy_segments_sql(const std::vector<std::string>& columns) {
    std::string sql =
        "INSERT INTO main.segments SELECT id + ?3, ?4, channel, segment, first_sample, samples, "
        "complete";
    for (const std::string& column : columns) sql += ", " + quoted(column);
    return sql + " FROM part.segments WHERE id BETWEEN ?1 AND ?2 ORDER BY id";
}

void copy_rows(Statement& statement, std::int64_t from, std::int64_t to) {
    statement.bind(1, segment_id(from, 0, 0));
    statement.bind(2, segment_id(from + 1, 0, 0) - 1);
    statement.bind(3, segment_id(to, 0, 0) - segment_id(from, 0, 0));
    statement.run();
}

}  // namespace

std::int64_t Store::join(const Store& part) {
    const auto ours = settings(), theirs = part.settings();
    if (!ours || !theirs || ours->hash != theirs->hash)
        throw MachineError(printable(part.impl_->database.path().string()) +
                           ": was measured under other settings; measure this part again");
    const Attached attached(impl_->database, part.impl_->database.path());
    Statement segments(impl_->database, copy_segments_sql(impl_->columns));
    Statement spectra(impl_->database,
                      "INSERT INTO main.spectra SELECT segment_id + ?3, kept FROM part.spectra "
                      "WHERE segment_id BETWEEN ?1 AND ?2 ORDER BY segment_id");
    Statement sounds(impl_->database,
                     "INSERT INTO main.sounds SELECT segment_id + ?3, kept FROM part.sounds "
                     "WHERE segment_id BETWEEN ?1 AND ?2 ORDER BY segment_id");
    Statement even(impl_->database,
                   "INSERT INTO main.even SELECT segment_id + ?3, terms, aci, ndsi, bi, standout, "
                   "events FROM part.even WHERE segment_id BETWEEN ?1 AND ?2 ORDER BY segment_id");
    std::int64_t copied = 0, rows = 0;
    begin();
    part.for_each_recording([&](const RecordingRow& row) {
        if (row.state == RecordingState::pending) return;
        const auto here = find(row.path);
        if (here && same_file(*here, row) && here->state == row.state &&
            here->settings == row.settings)
            return;
        const std::int64_t id = put(merged(row, here));
        if (here) delete_results(id);
        segments.bind(4, id);
        copy_rows(segments, row.id, id);
        copy_rows(spectra, row.id, id);
        copy_rows(sounds, row.id, id);
        copy_rows(even, row.id, id);
        ++copied;
        rows += 1 + count_segments_of(id);
        if (rows < kRowsPerCommit) return;
        commit();
        begin();
        rows = 0;
    });
    commit();
    return copied;
}

}  // namespace hearwood

// What stands behind Store; shared by the .cpp files that implement it.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "store/sqlite.h"
#include "store/store.h"
#include "store/writer_lock.h"

namespace hearwood {

struct Store::Impl {
    // The lock outlives the database: it is let go of after the last page is written.
    std::unique_ptr<WriterLock> lock;
    Database database;
    bool writes = false;
    std::vector<std::string> columns;  ///< of the table segments
    // Prepared once, made when first needed.
    mutable std::unique_ptr<Statement> put, find, append_segment, append_spectrum, append_sounds,
        put_even, segments_of;
    mutable std::unique_ptr<Statement> segments_of_one;  ///< empty while a walk has it

    Impl(std::unique_ptr<WriterLock> writer_lock, const std::filesystem::path& path,
         Database::Mode mode)
        : lock(std::move(writer_lock)), database(path, mode), writes(lock != nullptr) {}

    Statement& prepared(std::unique_ptr<Statement>& slot, const std::string& sql) const {
        if (!slot) slot = std::make_unique<Statement>(database, sql);
        return *slot;
    }
    /// Statements that name the columns of the table segments are of no use after it was made anew.
    void forget_segment_statements() {
        append_segment.reset();
        segments_of.reset();
        segments_of_one.reset();
    }
    /// Writing belongs in a transaction of a store that was opened for writing.
    void require_transaction() const;

    /// Segments whose ids lie in [first, last], in their order.
    void segments_between(std::int64_t first, std::int64_t last,
                          const std::function<void(const SegmentRow&)>& use);
};

}  // namespace hearwood

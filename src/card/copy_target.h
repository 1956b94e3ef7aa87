// A folder that receives proved copies: the deployment's folder in the survey, or the one on the
// second disk. A copy has a temporary name until every byte of it was read back from the disk and
// found right.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <set>
#include <span>
#include <string>

#include "card/checksums.h"

namespace hearwood {

/// A copy under way. Destroyed before publish() it leaves nothing behind.
class UnfinishedCopy {
  public:
    /// Errors of all functions: MachineError.
    UnfinishedCopy(std::filesystem::path temporary, std::filesystem::path target);
    UnfinishedCopy(UnfinishedCopy&& other) noexcept;
    UnfinishedCopy& operator=(UnfinishedCopy&&) = delete;
    ~UnfinishedCopy();

    void write(const char* bytes, std::size_t count);
    /// Sets the time of last change, and has the disk begin with what it was not given yet.
    void end(std::int64_t modified_ns);
    /// Waits until all of it is on the disk, and closes it.
    void sync();
    /// Gives it its name.
    void publish();
    const std::filesystem::path& temporary() const { return temporary_; }

  private:
    friend void sync_together(std::span<UnfinishedCopy* const> copies);
    void push();
    void await_bytes();
    void close();

    std::filesystem::path temporary_, target_;
    int descriptor_ = -1;
    std::uint64_t written_ = 0, pushed_ = 0;
};

/// What sync() of each would do, for many small copies of one target: where its file system can be
/// trusted to, with one wait for all. REQUIRES end() of each.
void sync_together(std::span<UnfinishedCopy* const> copies);

class CopyTarget {
  public:
    /// `folder` is relative to `root`. Nothing outside of root is ever written: prepare() and
    /// begin() refuse links on the way (InputError). Errors: InputError when the folder is not
    /// below root.
    CopyTarget(const std::filesystem::path& root, const std::string& folder);

    /// Makes the folder, removes what a killed run left half done, reads SHA256SUMS.
    void prepare();
    /// The same for a look that must write nothing.
    void load_checksums();

    const std::filesystem::path& folder() const { return folder_; }
    Checksums& checksums() { return checksums_; }
    const Checksums& checksums() const { return checksums_; }

    struct Present {
        std::uint64_t size = 0;
        std::int64_t modified_ns = 0;
        bool regular = true;
    };
    std::optional<Present> look(const std::string& path) const;

    /// A new copy that will be called `path` below the folder.
    UnfinishedCopy begin(const std::string& path);

    /// Bytes that can be written here.
    std::uint64_t free_bytes() const;
    /// Which file system it is: two targets with the same number share free_bytes().
    std::uint64_t file_system() const;

    /// Writes SHA256SUMS.
    void write_checksums() const;
    /// Removes the folder of temporary names.
    void finish();

  private:
    std::filesystem::path make_parent_of(const std::string& path);
    std::filesystem::path nearest_existing() const;

    std::filesystem::path root_, folder_;
    Checksums checksums_;
    std::uint64_t next_temporary_ = 0;
    std::set<std::string> parents_;  // seen to be proper folders in this run
};

}  // namespace hearwood

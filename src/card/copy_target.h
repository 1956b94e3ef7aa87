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

#include "base/error.h"
#include "card/checksums.h"
#include "card/disk.h"
#include "platform/open_file.h"

namespace hearwood {

/// A disk takes no file of this size or of this name; others it takes.
class FileRefused : public MachineError {
  public:
    using MachineError::MachineError;
};

/// A copy under way. Destroyed before publish() it leaves nothing behind.
class UnfinishedCopy {
  public:
    /// Errors of all functions: MachineError.
    UnfinishedCopy(std::filesystem::path temporary, std::filesystem::path target, bool replaces);
    UnfinishedCopy(UnfinishedCopy&& other) noexcept;
    UnfinishedCopy& operator=(UnfinishedCopy&&) = delete;
    ~UnfinishedCopy();

    /// Errors: FileRefused, MachineError.
    void write(const char* bytes, std::size_t count);
    /// Sets the time of last change, and has the disk begin with what it was not given yet.
    void end(std::int64_t modified_ns);
    /// Waits until all of it is on the disk, and closes it.
    void sync();
    /// After another file has taken its place under the temporary name.
    void reopen();
    /// Gives it its name. False, and nothing is done, when a file has that name (or one that this
    /// disk takes for the same) and is not to be replaced. Errors: FileRefused, MachineError.
    [[nodiscard]] bool publish();
    bool replaces() const { return replaces_; }
    const std::filesystem::path& target() const { return target_; }
    const std::filesystem::path& temporary() const { return temporary_; }

  private:
    friend void sync_together(std::span<UnfinishedCopy* const> copies);
    void push();
    void close();

    std::filesystem::path temporary_, target_;
    bool replaces_ = false;
    OpenFile file_;
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

    /// Makes the folder, removes what a killed run left half done, reads SHA256SUMS, finds out
    /// whether the disk tells capitals from small letters.
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
        std::uint64_t device = 0, number = 0;  ///< together they tell files apart, not names
    };
    std::optional<Present> look(const std::string& path) const;

    /// A new copy that will be called `path` below the folder. With `replaces` it takes the place
    /// of what stands there. Errors: FileRefused, MachineError.
    UnfinishedCopy begin(const std::string& path, bool replaces);
    /// How the file that `path` leads to is really called; differs from its last part on a disk
    /// that takes some names for the same. Below the folder.
    std::string name_on_disk(const std::string& path) const;

    /// The disk takes names that differ in capitals for the same. Known after prepare().
    bool folds_names() const { return folds_names_; }
    const Disk& disk() const { return disk_; }
    const std::filesystem::path& root() const { return root_; }

    /// Bytes that can be written here.
    std::uint64_t free_bytes() const;
    /// Which file system it is: two targets with the same number share free_bytes().
    std::uint64_t file_system() const;
    /// The one on which prepare() found the folder; file_system() differs when a disk came or went
    /// since.
    std::uint64_t prepared_on() const { return prepared_on_; }

    /// Writes SHA256SUMS, and the sum of it.
    void write_checksums() const;
    /// Removes the folder of temporary names.
    void finish();

  private:
    std::filesystem::path make_parent_of(const std::string& path);
    void find_out_folding();

    std::filesystem::path root_, folder_;
    Checksums checksums_;
    Disk disk_;
    bool folds_names_ = false;
    std::uint64_t prepared_on_ = 0;
    std::uint64_t next_temporary_ = 0;
    std::set<std::string> parents_;  // seen to be proper folders in this run
};

/// What a disk that does not tell capitals makes of a path: two paths with the same key may be one
/// file there.
std::string folded_name(const std::string& path);

}  // namespace hearwood

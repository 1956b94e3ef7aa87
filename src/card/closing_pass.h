// The last look: every copy of every disk is read once more after the last was written. Only then
// can be seen what a disk of false capacity, a wrong cable or a spoilt sector did to what had been
// read back before.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <mutex>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "base/progress.h"
#include "card/copy_target.h"
#include "card/disk_hash.h"
#include "card/offload.h"

namespace hearwood {

/// A copy that is not what the card gave.
struct SpoiltCopy {
    std::size_t file;    ///< into OffloadResult::files
    std::size_t target;  ///< into OffloadResult::places
    std::string why;     ///< one clause that names it
};

/// A file of the card that did not give the same bytes a second time.
struct FickleFile {
    std::size_t file;  ///< into OffloadResult::files
    std::string why;   ///< one clause
};

class ClosingPass {
  public:
    ClosingPass(const std::filesystem::path& card, std::span<const CopyTarget> targets,
                const OffloadResult& result, bool quiet);

    /// Reads, one stream a disk, the disks side by side, and beside them the card once more where
    /// that is wanted. The results below are then there.
    void run(bool card_too);

    const std::vector<SpoiltCopy>& spoilt() const { return spoilt_; }
    const std::vector<FickleFile>& fickle() const { return fickle_; }
    /// How many copies of a file were read and found equal.
    std::size_t read_back(std::size_t file) const { return read_back_[file]; }
    bool past_memory(std::size_t target) const { return past_memory_[target] != 0; }
    bool interrupted() const { return interrupted_; }
    /// Why it was given up; empty: it came to its end or was interrupted.
    const std::string& stopped() const { return stopped_; }

  private:
    void read_disk(const std::vector<std::size_t>& targets);
    bool read_target(std::size_t target);
    void read_card();
    bool read_again(std::size_t file, DiskReader& disk, int& failures);
    void tell_progress(DiskReader& disk);
    std::string why_no_copy(std::size_t target, const std::string& copy) const;

    std::filesystem::path card_;
    std::span<const CopyTarget> targets_;
    const OffloadResult& result_;
    bool quiet_;
    std::set<std::pair<std::uint64_t, std::uint64_t>> on_card_;  // device and number of its files
    Progress* progress_ = nullptr;
    std::mutex mutex_;  // over all below
    std::uint64_t read_ = 0;
    std::vector<SpoiltCopy> spoilt_;
    std::vector<FickleFile> fickle_;
    std::vector<std::size_t> read_back_;
    std::vector<char> past_memory_;
    bool interrupted_ = false;
    std::string stopped_;
};

}  // namespace hearwood

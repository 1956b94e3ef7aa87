// Decides what a file of the card needs and reads it once: either into new copies, or only to
// compare it with copies that are there.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <mutex>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "card/card_reader.h"
#include "card/copy_target.h"
#include "card/disk_hash.h"
#include "card/forgotten_content.h"
#include "card/offload.h"

namespace hearwood {

/// The copies of one file, read and written but not yet proved.
struct CopiedFile {
    std::size_t index = 0;  ///< into OffloadResult::files
    std::string copy;       ///< the copy's path below each target's folder
    std::string sha256;     ///< of what was read from the card
    CardReading reading;
    struct Pending {
        std::size_t target;
        UnfinishedCopy copy;
    };
    std::vector<Pending> pending;      ///< none for targets that hold an equal copy already
    std::vector<std::size_t> without;  ///< targets that take no file of this size or name
};

class FileCopier {
  public:
    /// `replaceable` tells whether what stands at this path is a salvaged copy, to be replaced by a
    /// better.
    FileCopier(CardReader& reader, std::span<CopyTarget> targets,
               const std::set<std::string>& card_paths, std::mutex& targets_mutex,
               std::function<bool(const std::string& copy)> replaceable,
               const ForgottenContent& forgotten)
        : reader_(reader),
          targets_(targets),
          card_paths_(card_paths),
          mutex_(targets_mutex),
          replaceable_(std::move(replaceable)),
          forgotten_(forgotten) {}

    /// Bytes read, told as they come.
    std::function<void(std::uint64_t)> progress;

    /// Whether the target has what looks like the file's copy (no byte is read): for the space
    /// needed.
    bool seems_copied(const CopyTarget& target, const FileOutcome& file) const;

    /// Sets file.proof where nothing is left to be written (proved_before, known_content: the
    /// closing pass has yet to read these; failed); else the caller has to prove what comes back.
    CopiedFile copy(std::size_t index, FileOutcome& file);

  private:
    enum class Need { write, replace, compare, conflict };
    Need need(const CopyTarget& target, const std::string& copy, const FileOutcome& file) const;
    bool is_free(const std::string& copy, int n, std::size_t index);
    bool begin_copies(CopiedFile& copied, FileOutcome& file,
                      const std::set<std::size_t>& to_replace,
                      std::vector<std::size_t>& to_compare);
    bool silence(CopiedFile& copied, FileOutcome& file, const std::vector<std::size_t>& to_compare,
                 std::set<std::size_t>& to_replace);
    void read_into(CopiedFile& copied, FileOutcome& file);
    void note_refused(CopiedFile& copied, FileOutcome& file, std::size_t target,
                      const std::string& why);
    bool is_worse(const CopiedFile& copied) const;
    bool is_given_up(const CopiedFile& copied, FileOutcome& file, bool compared) const;
    std::optional<CopyTarget::Present> candidate(const CopyTarget& target, const std::string& copy,
                                                 const FileOutcome& file) const;
    bool reads_as(const CopyTarget& target, const std::string& copy, const std::string& sha256,
                  const FileOutcome& file);
    bool holds(const CopyTarget& target, const std::string& copy, const std::string& sha256,
               const FileOutcome& file);
    std::string known_elsewhere(const std::string& sha256, const FileOutcome& file);

    CardReader& reader_;
    DiskReader disk_reader_;
    std::span<CopyTarget> targets_;
    const std::set<std::string>& card_paths_;
    std::mutex& mutex_;  // over the targets' checksums
    std::function<bool(const std::string&)> replaceable_;
    const ForgottenContent& forgotten_;
    std::map<std::string, std::size_t> taken_;  // folded names of this run's copies: whose they are
};

/// The path of the n-th copy that goes by the same name: the card's own for the first, "card-2/..."
/// and so on for files of the same name but other content.
std::string copy_path(const std::string& path, int n);
/// The card's path of such a copy.
std::string card_path_of(const std::string& copy);

/// Written at the end into the deployment's folder: the verdict and the findings.
inline constexpr const char* kOffloadReport = "OFFLOAD.txt";

/// True for the names of the program's own files beside the copies, which no copy may have.
bool is_reserved(const std::string& copy);

}  // namespace hearwood

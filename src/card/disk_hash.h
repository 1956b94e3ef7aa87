// Reading back what was written, from the disk and not from memory.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "platform/open_file.h"

namespace hearwood {

/// A disk that gives so many copies in a row no more is gone.
inline constexpr int kFailuresMeanGone = 3;

/// The SHA-256 of a file as it stands on the disk.
struct DiskHash {
    std::string sha256;
    bool direct = true;  ///< false: the file system offers no way around the page cache
    bool whole = true;   ///< false: stop() said to give up
};
class DiskReader {
  public:
    DiskReader();
    /// Lets go of what memory holds of the file, then reads past it where the system allows that.
    /// Errors: MachineError.
    DiskHash hash(const std::filesystem::path& file);

    /// The files are those of a card: their times of last access stay, where this user may ask for
    /// that.
    bool of_card = false;
    std::function<void(std::uint64_t)> progress;  ///< bytes read, told as they come; may be empty
    std::function<bool()> stop;                   ///< whether to give up; may be empty

  private:
    struct Free {
        void operator()(char* bytes) const;
    };
    bool read_all(const OpenFile& file, std::uint64_t size, const std::filesystem::path& path,
                  bool direct, DiskHash& result);

    std::unique_ptr<char, Free> block_;
};

}  // namespace hearwood

// Reading back what was written, from the disk and not from memory.
#pragma once

#include <filesystem>
#include <memory>
#include <string>

namespace hearwood {

/// The SHA-256 of a file as it stands on the disk.
struct DiskHash {
    std::string sha256;
    bool past_cache = true;  ///< false: the file system offers no way around the page cache
};
class DiskReader {
  public:
    DiskReader();
    /// Reads past the page cache where the system allows it. Errors: MachineError.
    DiskHash hash(const std::filesystem::path& file);

  private:
    struct Free {
        void operator()(char* bytes) const;
    };
    std::unique_ptr<char, Free> block_;
};

}  // namespace hearwood

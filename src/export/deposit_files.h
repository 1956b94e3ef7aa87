// The files of a deposit, which is a folder or one zip archive.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>

namespace hearwood {

class DepositFiles {
  public:
    virtual ~DepositFiles() = default;
    /// Sizes in bytes by name, '/' between its parts, sorted.
    const std::map<std::string, std::uint64_t>& sizes() const { return sizes_; }
    bool has(const std::string& name) const { return sizes_.contains(name); }
    /// Hands out a file in blocks, none of it kept. Errors: MachineError, also where its own sum in
    /// the archive does not hold. REQUIRES has(name).
    virtual void read(const std::string& name,
                      const std::function<void(std::string_view)>& take) const = 0;

    /// A whole file of at most `limit` bytes. Errors: as read(); InputError when it is larger.
    std::string whole(const std::string& name, std::uint64_t limit = 256u << 20) const;
    std::string sha256(const std::string& name) const;

  protected:
    std::map<std::string, std::uint64_t> sizes_;
};

/// Errors: InputError where there is neither a folder nor a zip archive.
std::unique_ptr<DepositFiles> open_deposit(const std::filesystem::path& place);

/// True for OUT.zip, in either case of letters.
bool is_zip_name(const std::filesystem::path& place);

/// All files below a folder as one zip archive with their names from there, sorted, and with one
/// fixed time, so that equal files give equal bytes. It is there whole or not at all. Errors:
/// MachineError.
void write_zip(const std::filesystem::path& folder, const std::filesystem::path& archive);

/// Errors: InputError when it is not there or no zip archive, or has two files of one name.
std::unique_ptr<DepositFiles> open_zip(const std::filesystem::path& archive);

}  // namespace hearwood

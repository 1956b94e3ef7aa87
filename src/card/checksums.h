// SHA256SUMS of a folder, as `sha256sum -c` reads it: "HASH  NAME", names relative to the folder,
// one a line.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

class Checksums {
  public:
    static constexpr const char* kFileName = "SHA256SUMS";

    /// What stands in such a file; lines that are none are passed over (their files are then proved
    /// anew). No file: empty.
    static Checksums load(const std::filesystem::path& file);

    void set(const std::string& name, const std::string& sha256);
    /// Empty when the name has none.
    std::string find(const std::string& name) const;
    /// All names with this hash, in the order of their bytes.
    std::vector<std::string> names_with(const std::string& sha256) const;

    /// The whole file, by the bytes of the names.
    std::string text() const;

  private:
    std::map<std::string, std::string> by_name_;
    std::multimap<std::string, std::string> by_hash_;
};

/// One line without its end. Names with a backslash, a newline or a carriage return are written as
/// GNU sha256sum writes them: these as \\, \n, \r, and a backslash in front of the line.
std::string checksum_line(std::string_view name, std::string_view sha256);

}  // namespace hearwood

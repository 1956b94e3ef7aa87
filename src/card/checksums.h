// SHA256SUMS of a folder, as `sha256sum -c` reads it: "HASH  NAME", names relative to the folder,
// one a line.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

class Checksums {
  public:
    static constexpr const char* kFileName = "SHA256SUMS";
    /// Beside it, the sum of SHA256SUMS itself, in the same form.
    static constexpr const char* kOwnSum = "SHA256SUMS.sha256";

    /// What stands in such a file. Lines that are none are passed over (their files are then proved
    /// anew) and told in troubles(), as are two sums of one name and a sum of its own that does not
    /// fit. No file: empty. Errors: InputError when something else than a file stands there;
    /// MachineError.
    static Checksums load(const std::filesystem::path& file);
    /// The same from the text of one, without a sum of its own.
    static Checksums parse(std::string_view text);
    /// What is wrong with the file as it was loaded: one clause each.
    const std::vector<std::string>& troubles() const { return troubles_; }

    void set(const std::string& name, const std::string& sha256);
    /// Empty when the name has none.
    std::string find(const std::string& name) const;
    /// All names with this hash, in the order of their bytes.
    std::vector<std::string> names_with(const std::string& sha256) const;
    const std::map<std::string, std::string>& by_name() const { return by_name_; }

    /// The whole file, by the bytes of the names.
    std::string text() const;
    /// Writes it and the sum of it into a folder. Errors: MachineError.
    void save(const std::filesystem::path& folder) const;

  private:
    std::map<std::string, std::string> by_name_;
    std::multimap<std::string, std::string> by_hash_;
    std::vector<std::string> troubles_;
};

/// A line "MARK  NAME" without its end, the mark of a known length: a sum, or a date.
struct NamedLine {
    std::string name, mark;
};
std::optional<NamedLine> parse_named_line(std::string_view line, std::size_t mark_length);

/// One line without its end. Names with a backslash, a newline or a carriage return are written as
/// GNU sha256sum writes them: these as \\, \n, \r, and a backslash in front of the line.
std::string checksum_line(std::string_view name, std::string_view sha256);

}  // namespace hearwood

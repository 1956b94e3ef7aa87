// When each copy in a folder was last read and found right: the file PROVED.txt beside SHA256SUMS,
// so that it goes where the disk goes. "2026-10-15T03:22:10Z  NAME", one a line, in UTC.
#pragma once

#include <filesystem>
#include <map>
#include <string>

namespace hearwood {

class ProofDates {
  public:
    static constexpr const char* kFileName = "PROVED.txt";
    /// Stands for the date of a copy with zeros in place of what the card did not give.
    static constexpr const char* kSalvaged = "salvaged-----------Z";

    /// No file: empty. Lines that are none are passed over: their copies count as never proved.
    static ProofDates load(const std::filesystem::path& folder);
    /// Now, to the second, as it stands in the file.
    static std::string now();

    void set(const std::string& name, const std::string& date) { by_name_[name] = date; }
    void remove(const std::string& name) { by_name_.erase(name); }
    /// Empty: never. Dates sort as text.
    std::string find(const std::string& name) const;
    /// The whole file, by the bytes of the names.
    std::string text() const;

  private:
    std::map<std::string, std::string> by_name_;
};

}  // namespace hearwood

// One section of survey.toml while it is read: typed keys with their bounds, every problem with its
// line, and what nobody asked for at the end.
#pragma once

#include <toml++/toml.h>

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/error.h"
#include "survey/settings.h"

namespace hearwood {

/// Keys of a table in the order in which they stand in the file.
std::vector<std::string> keys_in_file_order(const toml::table& table);

class TomlSection {
  public:
    /// `name` as users know it: "[measure]". A null table stands for a section that is not there.
    TomlSection(std::string name, const toml::table* table, std::vector<Problem>& problems);

    const std::string& name() const { return name_; }
    bool has(const std::string& key) const;
    // Each takes the key if it is there and well-formed; otherwise it says what is wrong and gives
    // nothing.
    std::optional<std::string> text(const std::string& key);
    std::optional<double> number(const std::string& key, double least, double most);
    std::optional<std::int64_t> integer(const std::string& key, std::int64_t least,
                                        std::int64_t most);
    std::optional<bool> truth(const std::string& key);
    std::optional<std::pair<std::string, std::string>> two_texts(const std::string& key);
    /// ["a", "b"]: at most so many texts, none of them empty, none twice.
    std::optional<std::vector<std::string>> texts(const std::string& key, std::size_t most);
    /// [low, high] in hertz, 0 <= low < high.
    std::optional<std::pair<double, double>> range_hz(const std::string& key);

    /// A table such as { from = "22:00", to = "04:00" }.
    const toml::table* table(const std::string& key);
    /// Minutes from midnight where the key holds a clock time in TOML's own writing (22:00:00); no
    /// problem otherwise.
    std::optional<int> clock_minutes(const std::string& key);

    /// Band and window names become parts of column names and values of tables: [a-z][a-z0-9_]*, at
    /// most 40.
    bool name_fits(const std::string& key, const char* what);
    /// A problem at a key (or at the section, when it is not there).
    void refuse(const std::string& key, std::string what, std::string fix);
    /// Told when a key is needed and not there. `example` is a whole line.
    void missing(const std::string& key, const std::string& example);
    /// Every key that was never asked for is a problem that names the nearest one that was.
    void refuse_unknown();

  private:
    const toml::node* find(const std::string& key);

    std::string name_;
    const toml::table* table_;
    std::vector<Problem>& problems_;
    std::vector<std::string> known_;
};

/// [windows], in its own file; `windows` holds the built-in ones on entry.
void read_windows(const toml::table* table, std::vector<Window>& windows,
                  std::vector<Problem>& problems);

}  // namespace hearwood

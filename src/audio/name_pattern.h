// A survey's own pattern for the names of its recordings; docs/recordings.md describes the
// language.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "audio/time_stamp.h"

namespace hearwood {

class NamePattern {
  public:
    /// Errors: InputError that names survey.toml, [names].start_time and the fix.
    explicit NamePattern(const std::string& text);

    struct Match {
        NameStamp stamp;
        std::size_t begin = 0;  ///< where in the name the first field of the time stands
    };
    /// The whole name, without folders and ending, against the whole pattern. Linear in the name
    /// for each '*': a '*' takes as little as lets the part behind it match.
    std::optional<Match> match(std::string_view stem) const;

  private:
    /// Literal text or a field ("%Y": 'Y'); parts_ are the runs of them between the stars.
    struct Token {
        char field = '\0';  // '\0': a literal
        char literal = '\0';
    };
    using Part = std::vector<Token>;
    struct Reading;

    void add_field(char field, const std::string& text);
    void check_complete(const std::string& text) const;
    static bool read(const Part& part, TextCursor& cursor, Reading& reading);

    std::vector<Part> parts_;  // at least one; n parts have n - 1 stars between them
    std::string fields_;       // every field letter once
};

}  // namespace hearwood

#include "base/log.h"

#include <cstdio>
#include <string>

namespace hearwood {

void log_line(std::string_view line) {
    write_to_stderr(std::string(line) + '\n');
}

void log_line(const std::vector<Problem>& problems) {
    for (const Problem& problem : problems) log_line(one_line(problem));
}

void write_to_stderr(std::string_view text) {
    static_cast<void>(std::fwrite(text.data(), 1, text.size(), stderr));
    static_cast<void>(std::fflush(stderr));
}

}  // namespace hearwood

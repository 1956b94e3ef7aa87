#include "base/error.h"

#include <fmt/format.h>

#include <algorithm>
#include <system_error>
#include <utility>

#include "base/text.h"

namespace hearwood {

std::string one_line(const Problem& problem) {
    std::string line;
    if (!problem.file.empty()) {
        line += printable(problem.file);
        if (problem.line > 0) line += fmt::format(":{}", problem.line);
        if (problem.line > 0 && problem.column > 0) line += fmt::format(":{}", problem.column);
        if (!problem.field.empty()) line += fmt::format(" ({})", printable(problem.field));
        if (!problem.value.empty()) line += fmt::format(" '{}'", printable(problem.value));
        line += ": ";
    }
    if (problem.severity == Severity::warning) line += "warning: ";
    line += printable(problem.what);
    if (problem.fix.empty()) return line;
    const bool is_sentence = problem.what.ends_with('.');  // a finding that became a refusal
    return line + (is_sentence ? " " : "; ") + printable(problem.fix);
}

bool any_error(const std::vector<Problem>& problems) {
    return std::any_of(problems.begin(), problems.end(),
                       [](const Problem& problem) { return problem.severity == Severity::error; });
}

InputError::InputError(std::vector<Problem> problems)
    : std::runtime_error(problems.empty() ? "bad input" : one_line(problems.front())),
      problems_(std::move(problems)) {}

InputError::InputError(std::string what, std::string fix)
    : InputError(std::vector<Problem>{Problem{.what = std::move(what), .fix = std::move(fix)}}) {}

void throw_machine_error(const std::string& path, const std::string& doing, int error_number,
                         const std::string& fix) {
    throw MachineError(fmt::format("{}: {}: {}; {}", printable(path), doing,
                                   std::generic_category().message(error_number), fix));
}

}  // namespace hearwood

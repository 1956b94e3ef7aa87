// What is said of a command line that cannot be followed.
#pragma once

#include <string>

#include "options/options.h"

namespace CLI {
class ParseError;
}

namespace hearwood {

/// One line: which word is wrong and the fix, the nearest command or option where the word looks
/// like a slip of one. `program` is as its parse() left it.
std::string usage_complaint(const CLI::App& program, const CLI::ParseError& error);

}  // namespace hearwood

// The program as CLI11 sees it: its name, its version and the list of commands. main.cpp runs it;
// reference_main.cpp writes man pages, completions and the reference from the same tree, so that
// they cannot drift from it.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "command/command.h"

namespace hearwood {

/// Each command with its work, in the order in which a survey meets them.
using Commands = std::vector<std::pair<CLI::App*, Run>>;
Commands add_commands(CLI::App& program);

/// "hearwood 0.1.0" and, a line each, the libraries' versions and the processor path.
std::string version_text();

}  // namespace hearwood

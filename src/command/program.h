// The program's name, version and list of commands. main.cpp runs it; reference_main.cpp writes man
// pages, completions and the reference from the same tree, so that they cannot drift from it.
#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "command/command.h"

namespace hearwood {

class Program {
  public:
    Program();
    ~Program();
    Program(const Program&) = delete;
    Program& operator=(const Program&) = delete;

    /// The work that a command line asks for, to be done while the program lives. Nothing where
    /// help, the version or a complaint was the answer, which is then told: `exit_code` is what to
    /// end with.
    const Run* read(int argc, char** argv, int& exit_code);
    const CLI::App& tree() const { return *app_; }

  private:
    std::unique_ptr<CLI::App> app_;
    std::vector<std::pair<CLI::App*, Run>>
        commands_;  ///< in the order in which a survey meets them
};

/// "hearwood 0.1.0" and, a line each, the libraries' versions and the processor path.
std::string version_text();

}  // namespace hearwood

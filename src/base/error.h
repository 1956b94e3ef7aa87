// What can go wrong, and how it is told: problems in the user's input are collected and shown
// together; failures of the machine and Ctrl-C stop the command. All end in one place,
// command/main.cpp, as an exit code.
#pragma once

#include <cstddef>
#include <stdexcept>
#include <string>
#include <vector>

#include "base/severity.h"

namespace hearwood {

/// The exit codes of every command; docs/commands.md tells them to users.
enum class ExitCode {
    ok = 0,
    some_unusable = 1,   ///< finished, but some recordings could not be used
    nothing_done = 2,    ///< bad usage or bad sheets
    machine_failed = 3,  ///< disk full, I/O error; what was finished is kept
    interrupted = 130,   ///< Ctrl-C; what was finished is kept
};

/// A finding with a place in something the user wrote: what is wrong there, and the way out.
struct Problem {
    std::string file = {};   ///< as the user knows it; raw bytes, escaped when shown
    std::size_t line = 0;    ///< counted from 1; 0 when there is none
    std::size_t column = 0;  ///< field of the line, counted from 1; 0 when there is none
    std::string field = {};  ///< name of that column or key; may be empty
    std::string value = {};  ///< what stands there; may be empty
    std::string what = {};   ///< what is wrong and why, no full stop
    std::string fix = {};    ///< what to do about it, no full stop
    Severity severity = Severity::error;  ///< or warning
    bool of_row = false;         ///< of that line alone: without it the rest of the sheet stands
    std::size_t other_line = 0;  ///< of a row that this one contradicts; 0 when there is none
};

/// "sites.csv:4:2 (latitude) '99': latitudes run from -90 to 90; check for swapped columns".
/// Control characters and bytes that are not UTF-8 are escaped, so that no file name can drive a
/// terminal.
std::string one_line(const Problem& problem);

/// True when any of them is an error rather than a warning.
bool any_error(const std::vector<Problem>& problems);

/// The user's input cannot be used; nothing was done. Exit code 2.
class InputError : public std::runtime_error {
  public:
    explicit InputError(std::vector<Problem> problems);
    /// A problem of the call itself: no file, no line.
    InputError(std::string what, std::string fix);
    const std::vector<Problem>& problems() const { return problems_; }

  private:
    std::vector<Problem> problems_;
};

/// The machine failed (disk full, I/O error, no memory). Exit code 3. what() is one whole line.
class MachineError : public std::runtime_error {
  public:
    using std::runtime_error::runtime_error;
};

/// Ctrl-C came in the middle of something of which nothing is kept. Exit code 130. what() is one
/// whole line.
class Interrupted : public std::runtime_error {
  public:
    using std::runtime_error::runtime_error;
};

/// MachineError from errno: "recordings/a.wav: cannot write: No space left on device; free space
/// and run again".
[[noreturn]] void throw_machine_error(const std::string& path, const std::string& doing,
                                      int error_number, const std::string& fix);

}  // namespace hearwood

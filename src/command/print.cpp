#include "command/print.h"

#include <fmt/core.h>

#include "base/lines.h"
#include "command/terminal_look.h"

namespace hearwood {

namespace {
bool running = false;
}  // namespace

bool part_of_run() {
    return running;
}

void begin_run() {
    running = true;
}

void print_wrapped(std::string_view text, int indent) {
    fmt::print("{}", wrapped(text, indent));
}

void print_heading(std::string_view title) {
    fmt::print("\n{}\n", bold(title));
}

void print_entry(std::string_view text, int indent) {
    fmt::print("{}", list_entry(text, indent));
}

}  // namespace hearwood

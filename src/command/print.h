// What commands print, 80 columns wide.
#pragma once

#include <string_view>

namespace hearwood {

/// A paragraph of stdout, further lines indented (base/lines.h).
void print_wrapped(std::string_view text, int indent = 0);
/// True once `run` calls its stages, each of which leaves out what another one tells.
bool part_of_run();
void begin_run();

/// A heading with an empty line above it, and an entry below one.
void print_heading(std::string_view title);
void print_entry(std::string_view text, int indent = 2);

}  // namespace hearwood

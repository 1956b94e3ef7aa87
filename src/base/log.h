// Lines on stderr. Where they cannot be written (a log on a full disk, a stream that was closed)
// nobody is left to tell, and the work goes on.
#pragma once

#include <string_view>
#include <vector>

#include "base/error.h"

namespace hearwood {

/// A line, in one write, so that those of several threads do not tear each other.
void log_line(std::string_view line);
/// A line each.
void log_line(const std::vector<Problem>& problems);

/// Text with no line feed of its own, such as a line of progress that is drawn again.
void write_to_stderr(std::string_view text);

}  // namespace hearwood

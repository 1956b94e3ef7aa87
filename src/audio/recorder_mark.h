// What a recorder leaves of itself in the names and headers of its files, and what of that can
// tell it from others.
#pragma once

#include <span>
#include <string>

namespace hearwood {

/// Letters and digits alone, small: "LT-04_" and "lt04" are the same recorder.
std::string bare_mark(const std::string& mark);

/// True when it can tell recorders apart: it holds a digit ("LT04_" can, "REC_" cannot).
bool identifies(const std::string& prefix);

/// The prefix that more than half of the names have, if it identifies a recorder; else empty.
std::string identifying_prefix(std::span<const std::string> prefixes);

}  // namespace hearwood

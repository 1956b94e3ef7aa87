// How much something that a person should know weighs.
#pragma once

#include <string_view>

namespace hearwood {

enum class Severity {
    note,     ///< worth knowing
    doubt,    ///< can explain a part of a difference, or is to be kept in mind
    serious,  ///< can explain all of a difference, or hours are lost, or the test's ground breaks
    warning,  ///< of a sheet: it is read, and may mean something else than was meant
    error,    ///< of a sheet: it cannot be used
};
/// "note", "doubt", "serious", "warning", "error".
std::string_view word(Severity severity);

}  // namespace hearwood

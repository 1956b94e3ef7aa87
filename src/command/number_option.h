// Numbers on the command line.
#pragma once

#include <CLI/CLI.hpp>

namespace hearwood {

/// A number from `least` to `most`, ends included. CLI11's own range takes "nan" for inside of any.
CLI::Validator number_between(double least, double most);

}  // namespace hearwood

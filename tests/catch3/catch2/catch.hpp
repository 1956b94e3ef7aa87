// Catch2 3 under the name of Catch2 2's only header; on the include path where version 3 is installed (tests/CMakeLists.txt).
#pragma once
#include <catch2/catch_all.hpp>

using Catch::Approx;

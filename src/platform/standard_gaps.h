// What C++20's library has and some compilers' does not: libc++ (clang's, and with it
// WebAssembly's) read no floating-point numbers with from_chars before version 20, wrote none
// before 14, and hid jthread until 20.
#pragma once

#include <charconv>
#include <string>
#include <thread>
#include <utility>
#include <version>

namespace hearwood {

/// std::from_chars for a decimal double: no plus sign, no blanks, no locale.
std::from_chars_result read_double(const char* first, const char* last, double& value);

/// std::to_chars: the shortest text that reads back as the same finite double, plain or with an
/// exponent, whichever is shorter.
std::string shortest_text(double value);

/// The same out of the C library alone, for where C++'s lacks them. They follow the C locale of the
/// program, which is never set and stays "C".
std::from_chars_result read_double_by_c(const char* first, const char* last, double& value);
std::string shortest_text_by_c(double value);

#ifdef __cpp_lib_jthread
using JoiningThread = std::jthread;
#else
class JoiningThread {
  public:
    template <class... Work>
    explicit JoiningThread(Work&&... work) : thread_(std::forward<Work>(work)...) {}
    JoiningThread(JoiningThread&&) noexcept = default;
    ~JoiningThread() {
        if (thread_.joinable()) thread_.join();
    }

  private:
    std::thread thread_;
};
#endif

}  // namespace hearwood

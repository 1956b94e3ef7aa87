// std::bit_cast, which libc++ (clang's, and with it WebAssembly's) lacked before version 14.
#pragma once

#include <bit>
#include <type_traits>
#include <version>

namespace hearwood {

#ifdef __cpp_lib_bit_cast
using std::bit_cast;
#else
template <class To, class From>
constexpr To bit_cast(const From& from) noexcept {
    static_assert(sizeof(To) == sizeof(From) && std::is_trivially_copyable_v<To> &&
                  std::is_trivially_copyable_v<From>);
    return __builtin_bit_cast(To, from);
}
#endif

}  // namespace hearwood

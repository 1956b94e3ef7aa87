// A generator whose numbers are the same on every machine and library: xoshiro256** seeded by
// splitmix64 (Blackman & Vigna 2018), with bounded draws by rejection (Lemire 2019) and own normal
// deviates.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace hearwood {

class Random {
  public:
    /// Streams of equal seed and different name are unrelated.
    explicit Random(std::uint64_t seed, std::string_view stream = {});

    std::uint64_t next();
    /// Uniform over 0 .. bound-1, without bias. bound > 0.
    std::uint64_t below(std::uint64_t bound);
    /// Uniform in (0, 1), 53 bits.
    double uniform();
    /// Standard normal (polar method of Marsaglia).
    double normal();

  private:
    std::array<std::uint64_t, 4> state_{};
    double spare_ = 0;
    bool has_spare_ = false;
};

}  // namespace hearwood

// A generator whose numbers are the same on every machine and library: xoshiro256** seeded by
// splitmix64 (Blackman & Vigna 2018), with bounded draws by rejection (Lemire 2019) and own normal
// deviates.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace hearwood {

/// The next number of the sequence that starts at `state` (Steele, Lea & Flood 2014; constants from
/// memory). Fast and good enough for sounds; what is tested takes Random.
inline std::uint64_t splitmix64(std::uint64_t& state) {
    std::uint64_t z = (state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

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

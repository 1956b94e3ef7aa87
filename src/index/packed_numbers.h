// Columns of whole numbers in few bits, by the code of Rice (Golomb 1966, Rice 1979): best where
// small numbers are the likely ones, as gaps and lengths are, and never far from the least.
//
// Bits fill each byte from its lowest. A column is: its least number m, folded (m >= 0: 2 m, else
// -2 m - 1), one added, as an Elias gamma code (n zeros, then the n + 1 bits of the number, the
// highest first); k, 5 bits; and of each number v, with r = v - m: r / 2^k zeros and a one, then
// the k lowest bits of r. Of a number of several bits the lowest comes first where nothing else is
// said.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

class NumberPacker {
  public:
    /// Adds to the end of `bytes`.
    explicit NumberPacker(std::string& bytes) : bytes_(bytes) {}

    /// REQUIRES: not empty.
    void column(std::span<const std::int32_t> numbers);
    /// After the last column: fills the last byte.
    void finish();

  private:
    void bits(std::uint64_t value, int count);
    void zeros_and_one(std::uint64_t zeros);

    std::string& bytes_;
    std::uint64_t held_ = 0;  ///< bits that fill no byte yet
    int held_bits_ = 0;
};

class NumberUnpacker {
  public:
    explicit NumberUnpacker(std::string_view bytes) : bytes_(bytes) {}

    /// Bits that are left.
    std::size_t left() const { return bytes_.size() * 8 - at_; }
    /// REQUIRES: count > 0. Errors: std::out_of_range where the bytes end too early or hold what no
    /// packer writes.
    void column(std::size_t count, std::vector<std::int32_t>& numbers);

  private:
    std::uint64_t next() const;
    void skip(std::size_t count);
    std::uint64_t bits(int count);
    std::uint64_t zeros_and_one();

    std::string_view bytes_;
    std::size_t at_ = 0;  ///< the next bit
};

}  // namespace hearwood

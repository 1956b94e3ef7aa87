#include "index/packed_numbers.h"

#include <algorithm>
#include <bit>
#include <limits>
#include <stdexcept>

namespace hearwood {
namespace {

constexpr int kParameterBits = 5;
constexpr int kMostParameter = (1 << kParameterBits) - 1;

std::uint64_t folded(std::int64_t number) {
    return static_cast<std::uint64_t>(number >= 0 ? 2 * number : -2 * number - 1);
}

std::int64_t unfolded(std::uint64_t number) {
    const auto half = static_cast<std::int64_t>(number / 2);
    return number % 2 == 0 ? half : -half - 1;
}

/// The k with which the column takes the fewest bits: at or beside the logarithm of the mean.
int best_parameter(std::span<const std::int32_t> numbers, std::int64_t least) {
    std::uint64_t sum = 0;
    for (const std::int64_t v : numbers) sum += static_cast<std::uint64_t>(v - least);
    const int middle = static_cast<int>(std::bit_width(sum / numbers.size()));
    int best = 0;
    std::uint64_t fewest = std::numeric_limits<std::uint64_t>::max();
    for (int k = std::max(0, middle - 2); k <= std::min(middle + 1, kMostParameter); ++k) {
        std::uint64_t bits = numbers.size() * static_cast<std::uint64_t>(k + 1);
        for (const std::int64_t v : numbers) bits += static_cast<std::uint64_t>(v - least) >> k;
        if (bits < fewest) best = k;
        fewest = std::min(fewest, bits);
    }
    return best;
}

}  // namespace

void NumberPacker::finish() {
    if (held_bits_ > 0) bytes_ += static_cast<char>(held_);
    held_ = 0;
    held_bits_ = 0;
}

/// REQUIRES: count <= 56, value < 2^count.
void NumberPacker::bits(std::uint64_t value, int count) {
    held_ |= value << held_bits_;
    held_bits_ += count;
    for (; held_bits_ >= 8; held_bits_ -= 8, held_ >>= 8) bytes_ += static_cast<char>(held_);
}

void NumberPacker::zeros_and_one(std::uint64_t zeros) {
    for (; zeros >= 32; zeros -= 32) bits(0, 32);
    bits(std::uint64_t{1} << zeros, static_cast<int>(zeros) + 1);
}

void NumberPacker::column(std::span<const std::int32_t> numbers) {
    const std::int64_t least = *std::min_element(numbers.begin(), numbers.end());
    const std::uint64_t start = folded(least) + 1;
    const int below = static_cast<int>(std::bit_width(start)) - 1;  // bits below the highest
    zeros_and_one(static_cast<std::uint64_t>(below));
    for (int bit = below - 1; bit >= 0; --bit) bits(start >> bit & 1, 1);
    const int k = best_parameter(numbers, least);
    bits(static_cast<std::uint64_t>(k), kParameterBits);
    for (const std::int64_t v : numbers) {
        const auto rest = static_cast<std::uint64_t>(v - least);
        zeros_and_one(rest >> k);
        bits(rest & ((std::uint64_t{1} << k) - 1), k);
    }
}

/// The next 57 bits, zeros behind the end.
std::uint64_t NumberUnpacker::next() const {
    std::uint64_t value = 0;
    const std::size_t first = at_ / 8, end = std::min(first + 8, bytes_.size());
    for (std::size_t i = first; i < end; ++i)
        value |= std::uint64_t{static_cast<unsigned char>(bytes_[i])} << 8 * (i - first);
    return value >> at_ % 8 & ((std::uint64_t{1} << 57) - 1);
}

void NumberUnpacker::skip(std::size_t count) {
    if (count > left()) throw std::out_of_range("packed numbers end too early");
    at_ += count;
}

/// REQUIRES: count <= 57.
std::uint64_t NumberUnpacker::bits(int count) {
    const std::uint64_t value = next() & ((std::uint64_t{1} << count) - 1);
    skip(static_cast<std::size_t>(count));
    return value;
}

std::uint64_t NumberUnpacker::zeros_and_one() {
    std::uint64_t zeros = 0;
    for (;; zeros += 57) {
        const std::uint64_t value = next();
        const int here = std::countr_zero(value);
        skip(value == 0 ? 57 : static_cast<std::size_t>(here) + 1);
        if (value != 0) return zeros + static_cast<std::uint64_t>(here);
    }
}

void NumberUnpacker::column(std::size_t count, std::vector<std::int32_t>& numbers) {
    const auto below = static_cast<int>(std::min<std::uint64_t>(zeros_and_one(), 34));
    std::uint64_t start = 1;
    for (int bit = 0; bit < below; ++bit) start = start << 1 | bits(1);
    const std::int64_t least = unfolded(start - 1);
    const auto k = static_cast<int>(bits(kParameterBits));
    numbers.clear();
    for (std::size_t i = 0; i < count; ++i) {
        const std::uint64_t zeros = zeros_and_one();
        const auto number = least + static_cast<std::int64_t>(zeros << k | bits(k));
        if (number < std::numeric_limits<std::int32_t>::min() ||
            number > std::numeric_limits<std::int32_t>::max())
            throw std::out_of_range("a packed number is too large");
        numbers.push_back(static_cast<std::int32_t>(number));
    }
}

}  // namespace hearwood

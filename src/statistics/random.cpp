#include "statistics/random.h"

#include <bit>
#include <cmath>

namespace hearwood {

namespace {

/// FNV-1a, 64 bits: a fixed number for the stream's name.
std::uint64_t hash(std::string_view text) {
    std::uint64_t value = 0xcbf29ce484222325u;
    for (const char c : text) value = (value ^ static_cast<unsigned char>(c)) * 0x100000001b3u;
    return value;
}

struct Product {
    std::uint64_t high, low;
};

/// 64 x 64 bits without a 128-bit type, which ISO C++ does not have.
Product multiply(std::uint64_t a, std::uint64_t b) {
    const std::uint64_t a0 = a & 0xffffffffu, a1 = a >> 32, b0 = b & 0xffffffffu, b1 = b >> 32;
    const std::uint64_t low = a0 * b0, middle = a1 * b0 + (low >> 32);
    const std::uint64_t cross = (middle & 0xffffffffu) + a0 * b1;
    return {a1 * b1 + (middle >> 32) + (cross >> 32), a * b};
}

}  // namespace

Random::Random(std::uint64_t seed, std::string_view stream) {
    std::uint64_t state = stream.empty() ? seed : seed ^ hash(stream);
    for (std::uint64_t& word : state_) word = splitmix64(state);
}

std::uint64_t Random::next() {
    const std::uint64_t result = std::rotl(state_[1] * 5, 7) * 9;
    const std::uint64_t shifted = state_[1] << 17;
    state_[2] ^= state_[0];
    state_[3] ^= state_[1];
    state_[1] ^= state_[2];
    state_[0] ^= state_[3];
    state_[2] ^= shifted;
    state_[3] = std::rotl(state_[3], 45);
    return result;
}

std::uint64_t Random::below(std::uint64_t bound) {
    Product product = multiply(next(), bound);
    if (product.low < bound) {
        const std::uint64_t unfair = (0 - bound) % bound;
        while (product.low < unfair) product = multiply(next(), bound);
    }
    return product.high;
}

double Random::uniform() {
    return (static_cast<double>(next() >> 11) + 0.5) * 0x1.0p-53;
}

double Random::normal() {
    if (has_spare_) {
        has_spare_ = false;
        return spare_;
    }
    double u, v, square;
    do {
        u = 2 * uniform() - 1;
        v = 2 * uniform() - 1;
        square = u * u + v * v;
    } while (square >= 1 || square == 0);
    const double factor = std::sqrt(-2 * std::log(square) / square);
    spare_ = v * factor;
    has_spare_ = true;
    return u * factor;
}

}  // namespace hearwood

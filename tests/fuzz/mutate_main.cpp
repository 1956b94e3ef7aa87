// Drives a fuzz target without libFuzzer: the seeds as they are, every cut of the small ones, then
// random mutations of them from a fixed seed for a number of rounds.
//   fuzz_TARGET_smoke CORPUS_FOLDER ROUNDS
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <iterator>
#include <random>
#include <vector>

#include "target.h"

namespace {

using Bytes = std::vector<std::uint8_t>;

std::vector<Bytes> read_seeds(const std::filesystem::path& folder) {
    std::vector<std::filesystem::path> paths;
    for (const auto& entry : std::filesystem::directory_iterator(folder))
        paths.push_back(entry.path());
    std::sort(paths.begin(), paths.end());
    std::vector<Bytes> seeds;
    for (const auto& path : paths) {
        std::ifstream in(path, std::ios::binary);
        seeds.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
    }
    return seeds;
}

/// Values at which readers of headers and numbers go wrong.
constexpr std::uint8_t kAwkward[] = {0,    1,    0x7F, 0x80, 0xFF, '"', ',', ';',
                                     '\n', '\r', '=',  '[',  '%',  '0', '-'};

Bytes mutated(const std::vector<Bytes>& seeds, std::mt19937& random) {
    const auto below = [&random](std::size_t count) { return count == 0 ? 0 : random() % count; };
    Bytes bytes = seeds[below(seeds.size())];
    for (std::size_t change = 1 + below(8); change > 0; --change) {
        const std::size_t at = below(bytes.size());
        switch (below(6)) {
            case 0:
                if (!bytes.empty()) bytes[at] = static_cast<std::uint8_t>(random());
                break;
            case 1:
                if (!bytes.empty()) bytes[at] = kAwkward[below(std::size(kAwkward))];
                break;
            case 2:
                bytes.resize(at);
                break;
            case 3:
                bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at),
                             kAwkward[below(std::size(kAwkward))]);
                break;
            case 4: {  // a four-byte length field
                for (std::size_t i = at; i < std::min(at + 4, bytes.size()); ++i)
                    bytes[i] = below(2) != 0 ? 0xFF : 0;
                break;
            }
            default: {  // a stretch of another seed
                const Bytes& other = seeds[below(seeds.size())];
                const std::size_t from = below(other.size()), count = below(other.size() - from);
                bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at),
                             other.begin() + static_cast<std::ptrdiff_t>(from),
                             other.begin() + static_cast<std::ptrdiff_t>(from + count));
            }
        }
    }
    bytes.resize(std::min<std::size_t>(bytes.size(), 1 << 16));
    return bytes;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 3) return 2;
    const std::vector<Bytes> seeds = read_seeds(argv[1]);
    if (seeds.empty()) {
        std::fprintf(stderr, "%s: no seeds\n", argv[1]);
        return 2;
    }
    std::size_t runs = 0;
    for (const Bytes& seed : seeds) {
        LLVMFuzzerTestOneInput(seed.data(), seed.size());
        const std::size_t cuts = std::min<std::size_t>(seed.size(), 600);
        for (std::size_t cut = 0; cut < cuts; ++cut, ++runs)
            LLVMFuzzerTestOneInput(seed.data(), cut);
    }
    std::mt19937 random(20260418);
    for (const int rounds = std::atoi(argv[2]); runs < static_cast<std::size_t>(rounds); ++runs) {
        const Bytes bytes = mutated(seeds, random);
        LLVMFuzzerTestOneInput(bytes.data(), bytes.size());
    }
    std::filesystem::remove_all(fuzz::scratch());
    std::printf("%zu inputs, no finding\n", runs);
    return 0;
}

#include "index/engine/framer.h"

#include <catch2/catch.hpp>
#include <numeric>
#include <random>

using namespace hearwood;

TEST_CASE("frames come whole and in order, however the stream is cut") {
    std::vector<int> stream(3000);
    std::iota(stream.begin(), stream.end(), 0);
    std::mt19937 random(1);
    for (const auto& [frame, hop] : {std::pair{16, 16}, std::pair{16, 5}, std::pair{16, 1},
                                     std::pair{16, 40}, std::pair{500, 3}}) {
        for (const int most : {1, 3, 17, 100, 2000}) {
            Framer framer(frame, hop);
            framer.begin();
            int start = 0;
            bool right = true;
            for (std::size_t at = 0; at < stream.size();) {
                const std::size_t count =
                    std::min<std::size_t>(random() % (most + 1), stream.size() - at);
                framer.add(std::span<const int>(stream.data() + at, count), [&](const int* x) {
                    for (int n = 0; n < frame; ++n) right = right && x[n] == start + n;
                    start += hop;
                });
                at += count;
            }
            INFO("frame " << frame << ", hop " << hop << ", blocks up to " << most);
            CHECK(right);
            CHECK(start == ((3000 - frame) / hop + 1) * hop);
            const auto rest = framer.rest<int>();
            CHECK(static_cast<int>(rest.size()) == std::max(3000 - start, 0));
            for (std::size_t n = 0; n < rest.size(); ++n)
                CHECK(rest[n] == start + static_cast<int>(n));
        }
    }
}

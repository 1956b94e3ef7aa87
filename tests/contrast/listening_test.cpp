// What a listening score says in words and signs.
#include "contrast/listening.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace hearwood;

TEST_CASE("a score is told index by index, fullness before kinds") {
    const std::vector<ListeningResult> heard = {
        {"aci", "kinds", 0.2, 0.0, 0.4, 60, 12, 2, "unclear"},
        {"aci", "fullness", 0.61, 0.32, 0.8, 60, 12, 2, "follows"},
        {"bi", "fullness", -0.5, std::nan(""), std::nan(""), 60, 12, 2, "opposite"}};
    CHECK(listening_mark(heard, "aci") == "followed the ear here (rho 0.61, 0.32 to 0.80)");
    CHECK(listening_mark(heard, "bi") == "went against the ear here (rho −0.50, no interval)");
    CHECK(listening_mark(heard, "ndsi").empty());
    CHECK(listening_sign(heard, "aci") == '+');
    CHECK(listening_sign(heard, "bi") == '-');
    CHECK(listening_sign(heard, "ndsi") == ' ');
    CHECK(listening_sentence_of(heard, "bi") ==
          "In a blind listening check (60 clips, 12 sites, 2 listeners), held against how full of "
          "animal sound the clips were, aci followed the ear; bi (rho −0.50, no interval) went "
          "against the ear.");
}

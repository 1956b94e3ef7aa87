// For agreement_reference.R: random judgements of one seed and what the program's functions make of
// them.
#include <fmt/core.h>
#include <fmt/ranges.h>

#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "statistics/kappa.h"
#include "statistics/rank_correlation.h"

int main(int argc, char** argv) {
    using namespace hearwood;
    std::mt19937 random(argc > 1 ? static_cast<unsigned>(std::atoi(argv[1])) : 1);
    std::vector<JudgementPair> pairs;
    std::vector<int> first, second, flat;
    for (int i = 0; i < 70; ++i) {
        const int a = static_cast<int>(random() % 5),
                  b = random() % 2 ? a : static_cast<int>(random() % 5);
        pairs.push_back({a, b});
        first.push_back(a);
        second.push_back(b);
    }
    std::vector<std::vector<int>> counts;
    for (int i = 0; i < 25; ++i) {
        std::vector<int> row(4, 0);
        for (int judge = 0; judge < 6; ++judge) ++row[random() % 3 ? i % 4 : random() % 4];
        counts.push_back(row);
        flat.insert(flat.end(), row.begin(), row.end());
    }
    std::vector<double> x, y, weight;
    for (int i = 0; i < 50; ++i) {
        x.push_back(static_cast<double>(random() % 15));
        y.push_back(x.back() + static_cast<double>(random() % 20));
        weight.push_back(static_cast<double>(1 + random() % 6));
    }
    fmt::print("first {}\nsecond {}\ncounts {}\nx {}\ny {}\nweight {}\n", fmt::join(first, " "),
               fmt::join(second, " "), fmt::join(flat, " "), fmt::join(x, " "), fmt::join(y, " "),
               fmt::join(weight, " "));
    fmt::print("results {:.15g} {:.15g} {:.15g} {:.15g}\n", cohen_kappa(pairs, 5),
               weighted_kappa(pairs, 5), fleiss_kappa(counts), weighted_spearman(x, y, weight));
}

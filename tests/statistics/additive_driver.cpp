// Reads rows of "site date cell value..." (numbers; NA is missing) and prints for each column and
// site: column site value cells comparable leans. What R and numpy check the additive model with.
#include <fmt/core.h>

#include <cmath>
#include <fstream>
#include <sstream>
#include <string>

#include "statistics/additive_model.h"

int main(int argc, char** argv) {
    if (argc != 2) return 2;
    std::ifstream file(argv[1]);
    std::size_t sites = 0, columns = 0;
    file >> sites >> columns;
    hearwood::AdditiveModel model(sites, columns);
    hearwood::DesignCell at;
    while (file >> at.site >> at.date >> at.cell) {
        std::vector<double> values;
        for (std::size_t c = 0; c < columns; ++c) {
            std::string text;
            file >> text;
            values.push_back(text == "NA" ? std::nan("") : std::stod(text));
        }
        model.add(at, values);
    }
    const auto fit = model.fit();
    for (std::size_t c = 0; c < columns; ++c)
        for (std::size_t s = 0; s < sites; ++s) {
            const hearwood::SiteEstimate& e = fit.columns[c][s];
            fmt::print("{} {} {:.17g} {} {} {:.17g}\n", c, s, e.value, e.cells,
                       e.comparable ? 1 : 0, e.leans);
        }
    return 0;
}

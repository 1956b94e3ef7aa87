// Lets the R scripts of this folder reach the parts of the contrast layer that no command exposes
// one by one.
//   contrast_driver profile FILE      FILE: site,class,block,step,value; declared pair rich,poor
//   contrast_driver spearman FILE     FILE: set,x,y
//   contrast_driver variance FILE     FILE: site,class,date,segments,mean,variance
//   contrast_driver power NA NB BLOCKS EFFECT SIMULATIONS
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <string>
#include <vector>

#include "base/error.h"
#include "base/sheet.h"
#include "base/text.h"
#include "cases.h"
#include "contrast/covariates.h"
#include "contrast/power.h"
#include "contrast/profile.h"
#include "contrast/variance.h"

using namespace hearwood;

namespace {

class Table {
  public:
    explicit Table(const std::string& path) : sheet_(read_sheet(path, path, problems_)) {
        if (any_error(problems_)) throw InputError(problems_);
    }
    std::size_t rows() const { return sheet_.rows.size(); }
    std::string text(std::size_t row, const char* column) const {
        return sheet_.rows[row].cells[sheet_.column(column).value()];
    }
    double number(std::size_t row, const char* column) const {
        return parse_number(text(row, column)).value_or(kMissing);
    }

  private:
    std::vector<Problem> problems_;
    Sheet sheet_;
};

void run_profile(const std::string& path) {
    const Table table(path);
    ProfileInput input;
    std::map<std::string, std::size_t> sites;
    for (std::size_t r = 0; r < table.rows(); ++r) {
        const double step = table.number(r, "step");
        if (std::find(input.steps.begin(), input.steps.end(), step) == input.steps.end())
            input.steps.push_back(step);
    }
    for (std::size_t r = 0; r < table.rows(); ++r) {
        const auto [place, fresh] = sites.emplace(table.text(r, "site"), input.sites.size());
        if (fresh) {
            input.sites.push_back(table.text(r, "site"));
            input.stands.push_back(table.text(r, "class"));
            input.blocks.push_back(table.text(r, "block"));
            input.values.emplace_back(input.steps.size(), kMissing);
        }
        const auto step =
            std::find(input.steps.begin(), input.steps.end(), table.number(r, "step"));
        input.values[place->second][step - input.steps.begin()] = table.number(r, "value");
    }
    const std::vector<NamedProfile> profiles{{"x", contrast_profile(input, rich_and_poor())}};
    fmt::print("{}", csv_of(dawn_profile_table(), profile_rows(profiles)));
}

void run_spearman(const std::string& path) {
    const Table table(path);
    std::map<std::string, std::pair<std::vector<double>, std::vector<double>>> sets;
    for (std::size_t r = 0; r < table.rows(); ++r) {
        auto& [x, y] = sets[table.text(r, "set")];
        x.push_back(table.number(r, "x"));
        y.push_back(table.number(r, "y"));
    }
    std::vector<CovariateRow> rows;
    for (const auto& [name, set] : sets)
        rows.push_back({name, "all", "x", spearman(set.first, set.second, 1)});
    fmt::print("{}", covariates_csv(rows));
}

void run_variance(const std::string& path) {
    const Table table(path);
    std::vector<DateValue> values;
    for (std::size_t r = 0; r < table.rows(); ++r)
        values.push_back({table.text(r, "site"), table.text(r, "class"), "", table.text(r, "date"),
                          static_cast<int>(table.number(r, "segments")), table.number(r, "mean"),
                          table.number(r, "variance")});
    const std::vector<VarianceRow> rows{
        {"x", "all", variance_components(values, rich_and_poor()), true}};
    fmt::print("{}", variance_csv(rows, 0.95));
}

void run_power(char** words) {
    PowerCase power_case;
    power_case.n_a = std::atoi(words[0]);
    power_case.n_b = std::atoi(words[1]);
    power_case.blocks = std::atoi(words[2]);
    power_case.effect_sd = std::atof(words[3]);
    power_case.simulations = std::atoi(words[4]);
    const PowerResult result = simulate_power(power_case);
    fmt::print("power,standard_error,p_min\n{},{},{}\n", format_number(result.power),
               format_number(result.standard_error), format_number(result.p_min));
}

}  // namespace

int main(int count, char** words) {
    const std::string what = count > 1 ? words[1] : "";
    try {
        if (what == "profile" && count == 3)
            run_profile(words[2]);
        else if (what == "spearman" && count == 3)
            run_spearman(words[2]);
        else if (what == "variance" && count == 3)
            run_variance(words[2]);
        else if (what == "power" && count == 7)
            run_power(words + 2);
        else
            return 2;
    } catch (const InputError& error) {
        for (const Problem& problem : error.problems())
            fmt::print(stderr, "{}\n", one_line(problem));
        return 2;
    }
    return 0;
}

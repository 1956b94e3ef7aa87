#include "report/page.h"

#include <algorithm>
#include <cmath>

#include "aggregate/tables.h"
#include "base/missing.h"
#include "contrast/declared.h"

namespace hearwood {

namespace {

/// Plain mean and count of a class's site values, as contrasts.csv has them where no block dropped
/// out.
struct ClassMean {
    double sum = 0;
    int n = 0;
    double mean() const { return sum / n; }
};

ClassMean class_mean(const Survey& survey, const SiteValues& values, const std::string& stand,
                     int window, int column) {
    ClassMean result;
    for (const SiteMean& row : values.window_means) {
        const double value = row.values[static_cast<std::size_t>(column)];
        if (row.part != window || survey.sites[row.site].stand != stand || is_missing(value))
            continue;
        result.sum += value;
        ++result.n;
    }
    return result;
}

/// The file's means went through the same sums, perhaps in another order.
bool same(double one, double other) {
    return std::abs(one - other) <= 1e-9 * std::max({1.0, std::abs(one), std::abs(other)});
}

}  // namespace

Page::Page(const Survey& of)
    : survey(of),
      plan(contrast_plan(of, tables_folder(of.folder))),
      heard(read_listening(tables_folder(of.folder))) {}

const ResultTable* Page::result(const std::string& file) const {
    const auto found = results.find(file);
    return found == results.end() ? nullptr : &found->second;
}

const ContrastRow* Page::primary() const {
    const auto found = std::find_if(contrasts.begin(), contrasts.end(), [&](const auto& row) {
        return row.index == index && row.window == window;
    });
    return found == contrasts.end() ? nullptr : &*found;
}

std::string Page::title_of(const std::string& name) const {
    const int place = values.column(name);
    return place < 0 ? name : values.columns[static_cast<std::size_t>(place)].title;
}

std::vector<ContrastRow> contrast_rows(const ResultTable& table, const Survey& survey) {
    std::vector<ContrastRow> rows;
    for (const auto& cells : table.rows) {
        ContrastRow row;
        const auto number = [&](const char* name) { return table.number(cells, name); };
        const auto count = [&](const char* name) {
            const double value = number(name);
            return std::isfinite(value) ? static_cast<std::int64_t>(value) : 0;
        };
        row.index = table.text(cells, "index");
        row.window = table.text(cells, "window");
        row.class_a = table.text(cells, "class_a");
        row.class_b = table.text(cells, "class_b");
        row.n_a = static_cast<int>(count("n_a"));
        row.n_b = static_cast<int>(count("n_b"));
        row.mean_a = number("mean_a");
        row.mean_b = number("mean_b");
        row.difference = number("difference");
        row.ci_low = number("ci_low");
        row.ci_high = number("ci_high");
        row.hedges_g = number("hedges_g");
        row.cliffs_delta = number("cliffs_delta");
        row.p = number("p");
        row.p_min = number("p_min");
        row.relabellings = count("relabellings");
        row.p_adjusted = number("p_adjusted");
        row.role = table.text(cells, "role") == "primary" ? Role::primary : Role::secondary;
        row.verdict = table.text(cells, "verdict");
        row.exact = row.relabellings != PermutationLimits{}.draws;
        row.has_blocks = !survey.stands.block.empty();
        row.level = survey.contrast.level;
        rows.push_back(std::move(row));
    }
    const auto family = std::count_if(rows.begin(), rows.end(), [](const ContrastRow& row) {
        return row.tested() && row.role == Role::secondary;
    });
    for (ContrastRow& row : rows)
        row.family = row.role == Role::primary ? 1 : static_cast<int>(family);
    return rows;
}

bool agree(const std::vector<ContrastRow>& rows, const Survey& survey, const SiteValues& values) {
    for (const ContrastRow& row : rows) {
        const int column = values.column(row.index);
        const auto window = std::find(values.windows.begin(), values.windows.end(), row.window);
        if (column < 0 || window == values.windows.end()) continue;
        const int part = static_cast<int>(window - values.windows.begin());
        const ClassMean a = class_mean(survey, values, row.class_a, part, column);
        const ClassMean b = class_mean(survey, values, row.class_b, part, column);
        if (row.n_a > a.n || row.n_b > b.n) return false;
        // Without blocks no site with a value drops out.
        if (survey.stands.block.empty() && (row.n_a < a.n || row.n_b < b.n)) return false;
        // With all sites in the test nothing dropped out, and the means have to be the same.
        if (row.tested() && row.n_a == a.n && row.n_b == b.n &&
            !(same(row.mean_a, a.mean()) && same(row.mean_b, b.mean())))
            return false;
    }
    return true;
}

}  // namespace hearwood

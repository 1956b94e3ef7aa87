// More than two classes: exact permutation F over all of them.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

/// A row of classes.csv: does the class matter at all?
struct ClassesRow {
    std::string index, window;
    std::vector<std::string> classes;  ///< those that took part, in order of first appearance
    std::vector<std::string> single;   ///< classes with one site: shown, not tested
    int sites = 0;
    double f = kMissing;  ///< of the classes, adjusted for blocks; inf when nothing is left over
    double p = kMissing, p_min = kMissing,
           p_adjusted = kMissing;  ///< max-F over the rows, step-down
    std::int64_t permutations = 0;
    bool exact = true;
};

/// One row for each (index, window). Empty test when fewer than two classes have two sites. Errors:
/// InputError when more than kMostClasses have.
std::vector<ClassesRow> classes_table(std::span<const SiteValue> values, const ContrastPlan& plan);
TableOf<ClassesRow> classes_table();
std::string classes_csv(std::span<const ClassesRow> rows);

}  // namespace hearwood

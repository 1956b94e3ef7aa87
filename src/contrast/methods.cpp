#include "contrast/methods.h"

#include <fmt/core.h>

#include <algorithm>

#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

std::string of_recordings(const MethodsFacts& facts) {
    std::string text;
    if (facts.segment_s > 0)
        text += fmt::format(
            "Acoustic indices were computed for every {} s of every recording (frames of {} "
            "samples, hop {} samples, Hann window) with Hearwood {}",
            readable_plain(facts.segment_s), facts.frame, facts.hop, facts.program_version);
    else
        text += fmt::format("Site values were compared with Hearwood {}", facts.program_version);
    if (!facts.index_citations.empty()) text += ": " + facts.index_citations;
    text += ". ";
    if (facts.segment_s > 0)
        text +=
            "The value of a site was taken from the additive model of site, date and quarter of an "
            "hour, as what the site would show had it been recorded whenever any site was (Searle, "
            "Speed "
            "& Milliken 1980). ";
    if (facts.segments_kept > 0)
        text +=
            fmt::format("{}{} {} kept and {} left out{}. ", counted(facts.segments_kept, "segment"),
                        facts.dates > 0 ? " of " + counted(facts.dates, "date") : "",
                        facts.segments_kept == 1 ? "was" : "were", grouped(facts.segments_excluded),
                        facts.excluded_for.empty() ? "" : " (" + facts.excluded_for + ")");
    return text + facts.steps;
}

std::string of_test(std::span<const ContrastRow> rows, const ContrastPlan& plan,
                    const MethodsFacts& facts) {
    const bool exact =
        std::any_of(rows.begin(), rows.end(), [](const auto& r) { return r.tested() && r.exact; });
    const bool random =
        std::any_of(rows.begin(), rows.end(), [](const auto& r) { return r.tested() && !r.exact; });
    const bool blocks =
        std::any_of(rows.begin(), rows.end(), [](const auto& r) { return r.has_blocks; });
    std::string text = fmt::format(
        "The site was the replicate. The classes {} and {}{} were compared by a two-sided "
        "permutation test of the "
        "difference of means ({} minus {})",
        plan.class_a, plan.class_b,
        facts.factor.empty() ? "" : fmt::format(" (factor {})", facts.factor), plan.class_a,
        plan.class_b);
    if (blocks)
        text += fmt::format(
            ", with labels permuted within blocks{} and block differences weighted by "
            "nA nB / (nA + nB)",
            facts.block.empty() ? "" : fmt::format(" ({})", facts.block));
    if (exact) text += ", over all permutations";
    if (random)
        text += fmt::format("{} {} random permutations with seed {} (Phipson & Smyth 2010)",
                            exact ? fmt::format(" where there were at most {}, else over",
                                                grouped(plan.limits.enumerate))
                                  : ", over",
                            grouped(plan.limits.draws), plan.seed);
    return text + fmt::format(
                      ". The {} confidence interval is the set of shifts that this test does not "
                      "reject, and effect sizes are Hedges' g (Hedges 1981) and Cliff's delta "
                      "(Cliff 1993). ",
                      percent(plan.level));
}

std::string of_family(std::span<const ContrastRow> rows, const ContrastPlan& plan,
                      const MethodsFacts& facts) {
    int secondary = 0;
    bool primary = false;
    for (const ContrastRow& row : rows) {
        primary = primary || row.role == Role::primary;
        secondary += row.role == Role::secondary && row.tested();
    }
    std::string text = primary ? fmt::format("The primary outcome was {} in {}. ",
                                             plan.primary_index, plan.primary_window)
                               : "No primary outcome was declared. ";
    if (!facts.declared_when.empty()) text += facts.declared_when + " ";
    if (secondary > 1)  // a family of one is not adjusted
        text += fmt::format(
            "The p values of {} {}outcomes were adjusted by the step-down maximum of t over the "
            "same permutations of sites (Westfall & Young 1993). ",
            secondary, primary ? "secondary " : "");
    if (std::any_of(rows.begin(), rows.end(), [](const ContrastRow& row) {
            return row.unequal_counts && !is_missing(row.p_unequal);
        }))
        text +=
            "Where the numbers of sites differed, results go by the larger of that p and one that "
            "bears unequal spread (Welch 1947 without blocks, the difference studentised by the "
            "differences within blocks with three blocks or more). ";
    return text;
}

std::string listening_sentence(const ContrastPlan& plan) {
    return plan.listening.empty() ? "No listening check was made." : plan.listening;
}

}  // namespace

std::string methods_paragraph(std::span<const ContrastRow> rows, const ContrastPlan& plan,
                              const MethodsFacts& facts) {
    return of_recordings(facts) + of_test(rows, plan, facts) + of_family(rows, plan, facts) +
           listening_sentence(plan);
}

std::string methods_references() {
    return "Cliff, N. (1993). Dominance statistics: ordinal analyses to answer ordinal questions. "
           "Psychological Bulletin 114, 494-509.\n"
           "Hedges, L. V. (1981). Distribution theory for Glass's estimator of effect size and "
           "related estimators. Journal of Educational Statistics 6, 107-128.\n"
           "Phipson, B. & Smyth, G. K. (2010). Permutation p-values should never be zero. "
           "Statistical Applications in Genetics and Molecular Biology 9, article 39.\n"
           "Searle, S. R., Speed, F. M. & Milliken, G. A. (1980). Population marginal means in the "
           "linear model: an alternative to least squares means. The American Statistician 34, "
           "216-221.\n"
           "Welch, B. L. (1947). The generalization of Student's problem when several different "
           "population variances are involved. Biometrika 34, 28-35.\n"
           "Westfall, P. H. & Young, S. S. (1993). Resampling-based multiple testing. Wiley.\n";
}

}  // namespace hearwood

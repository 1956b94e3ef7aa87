// Words: one plain sentence a contrast that never says more than its numbers.
#pragma once

#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/finding.h"
#include "contrast/contrast.h"
#include "contrast/listening.h"

namespace hearwood {

/// The sentence of a row; it needs p_adjusted and role. No index is praised or blamed: what a
/// higher value means is said in the docs.
std::string verdict(const ContrastRow& row);
/// The same of an outcome called otherwise than "aci, dawn".
std::string verdict(const ContrastRow& row, const std::string& outcome);

/// Unequal numbers of sites and a spread ratio above 2: a doubt. Nothing otherwise.
std::optional<Finding> spread_finding(const ContrastRow& row);

/// What Hedges' g and Cliff's delta of this row mean, two sentences.
std::string effect_in_words(const ContrastRow& row);

/// Whether the primary outcome holds when every site is heard through the same noise
/// (docs/even.md), with its even value, and what even events say beside it. Empty without a primary
/// outcome, for one that is itself on even terms, and where nothing was measured so.
std::string even_remark(std::span<const ContrastRow> rows);
/// The plan's sentence on levels and path, where the answer speaks of even terms at all.
std::string path_remark(std::span<const ContrastRow> rows, const ContrastPlan& plan);

/// The last line of the terminal: the primary's verdict with the remark above, or how many of the
/// family are below 1 - level.
std::string overall_verdict(std::span<const ContrastRow> rows, const ContrastPlan& plan);

/// The one place that says whether people listened.
std::string listening_remark(const ContrastPlan& plan);

/// Tables of 80 columns, numbers right-aligned; empty without such a row. Where a listening check
/// was made, a sign before each index says how it followed the ear, and the second table ends with
/// what the signs mean. Of more secondary rows than `most` those of the largest Hedges' g are
/// shown, by size.
std::string primary_table(std::span<const ContrastRow> rows,
                          const std::vector<ListeningResult>& heard = {});
std::string secondary_table(std::span<const ContrastRow> rows,
                            const std::vector<ListeningResult>& heard = {},
                            std::size_t most = std::numeric_limits<std::size_t>::max());

}  // namespace hearwood

// A methods paragraph, ready for a paper: exactly what was done under these settings, with
// citations.
#pragma once

#include <span>
#include <string>

#include "contrast/contrast.h"

namespace hearwood {

/// What the statistics do not know themselves.
struct MethodsFacts {
    std::string program_version;
    std::string factor;                                       ///< "nutrient_status"
    std::string block;                                        ///< "river"; empty: none
    int segments_kept = 0, segments_excluded = 0, dates = 0;  ///< 0: not known, not mentioned
    double segment_s = 0;
    int frame = 0, hop = 0;
    /// Decisions about the data and automatic steps, in whole sentences with a space behind; empty:
    /// none.
    std::string steps;
    std::string excluded_for;     ///< "rain, clipping", empty: nothing
    std::string declared_when;    ///< sentences on when the primary was declared; empty: not known
    std::string index_citations;  ///< "aci (Pieretti, Farina & Morri 2011)"
};

std::string methods_paragraph(std::span<const ContrastRow> rows, const ContrastPlan& plan,
                              const MethodsFacts& facts);

/// The references the paragraph cites, one a line.
std::string methods_references();

}  // namespace hearwood

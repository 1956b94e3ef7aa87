// Even terms as `robustness` varies them.
#pragma once

#include <string>

#include "aggregate/even_terms.h"

namespace hearwood {

struct EvenVariant {
    double raised_db = 0;  ///< how far above the loudest background all are heard
    double choir_share = 0;
};

/// even_terms() with a variant's floor and choirs in the place of the survey's own.
EvenTerms varied_terms(const Survey& survey, const SiteSounds& sounds,
                       const std::string& settings_hash, const KeptTrials& trials,
                       const EvenVariant& variant);

}  // namespace hearwood

// README.md, methods.md and CITATION.cff of a deposit.
#pragma once

#include <span>
#include <string>

#include "aggregate/applied_steps.h"
#include "export/deposit.h"

namespace hearwood {

struct DepositFacts {
    const Survey& survey;
    const DepositOptions& options;
    const DepositSummary& summary;
    std::span<const AppliedStep> steps;
    bool listened = false;  ///< a listening check was made, so that voices may have been noted
};

std::string deposit_readme(const DepositFacts& facts);
std::string methods_page(const std::string& paragraph);
/// Citation File Format 1.2.0 (citation-file-format.github.io).
std::string citation_file(const Survey& survey);

}  // namespace hearwood

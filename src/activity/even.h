// Brings the values on even terms up to date: what is old or not there is measured again, the rest
// stands. What is done stays done; a killed or interrupted run goes on where it stopped.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "aggregate/even_terms.h"
#include "base/missing.h"
#include "base/table.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct EvenOptions {
    int jobs = 1;
    bool quiet = false;
    bool dry_run = false;
    /// Of so many parts, counted from 0: the values of its share go into a store of its own.
    int part = 0, parts = 1;
};

struct EvenSummary {
    EvenTerms terms;
    std::int64_t segments = 0;  ///< that have values on even terms, or should
    std::int64_t to_do = 0;     ///< of them old or not there
    std::int64_t measured = 0;  ///< in this run
    std::int64_t unread = 0;    ///< that could not be read again as they were when measured
    std::string unread_path;    ///< of the first of their recordings, as the store has it
    bool interrupted = false;
};

/// `out` is where the values go: the measured store itself, or a part's. Errors: as JudgedSegments;
/// MachineError when `out` cannot be written.
EvenSummary bring_even_up_to_date(const Survey& survey, const Store& measured, Store& out,
                                  const EvenOptions& options);

/// A row of even.csv: a site in a window and a band; levels in dB as EvenTerms levels them.
struct EvenLine {
    std::string window;
    double low_hz = 0, high_hz = 0;
    double floor_db = kMissing;
    std::string set_by;
    std::optional<int> choir_sites;
    std::string site;
    double noise_db = kMissing;
};
TableOf<EvenLine> even_table();
/// By window, band and site.
std::vector<EvenLine> even_lines(const Survey& survey, const EvenTerms& terms);

}  // namespace hearwood

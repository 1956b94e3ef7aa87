// The score as tables and as lines to read.
#include <fmt/format.h>

#include <cmath>

#include "aggregate/tables.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/missing.h"
#include "base/table.h"
#include "base/text.h"
#include "contrast/listening.h"
#include "contrast/words.h"
#include "listen/score.h"

namespace hearwood {
namespace {

/// Two digits; a minus sign that is one; an open end of an interval in a word.
std::string two_digits(double value) {
    if (std::isinf(value)) return value < 0 ? "no lower end" : "no upper end";
    const std::string size = fmt::format("{:.2f}", std::abs(value));
    return (value < 0 && size != "0.00" ? "−" : "") + size;
}

std::string interval(double value, double low, double high) {
    if (is_missing(value)) return "no such clip";
    if (is_missing(low)) return two_digits(value) + " (no interval: too few)";
    return fmt::format("{} ({} to {})", two_digits(value), two_digits(low), two_digits(high));
}

std::string agreement_lines(const ListeningScore& score) {
    std::string text;
    for (const AgreementRow& row : score.agreement)
        if (row.question == "fullness")
            text += fmt::format("  {}, fullness: {:.0f} % the same, {} {}\n", printable(row.who),
                                100 * row.same, row.measure,
                                is_missing(row.kappa) ? "not defined" : two_digits(row.kappa));
    return text.empty() ? "  one listener, no clip answered twice: agreement is not known\n" : text;
}

}  // namespace

void write_listening_tables(const Survey& survey, const ListeningScore& score) {
    const std::filesystem::path folder = tables_folder(survey.folder);
    make_folder(folder);
    write_whole_file(folder / "listening.csv", csv_of(follow_table(), score.follows));
    write_whole_file(folder / "listening_agreement.csv",
                     csv_of(agreement_table(), score.agreement));
    write_whole_file(folder / "listening_screens.csv", csv_of(screens_table(), score.screens));
    write_whole_file(folder / "listening_contrasts.csv",
                     csv_of(heard_contrasts_table(), score.contrasts));
}

std::string listening_summary(const Survey& survey, const ListeningScore& score) {
    std::string text =
        fmt::format("{} of {}, {}; {} missing\n\nHow far listeners agree\n",
                    counted(score.clips, "clip"), counted(score.sites, "site"),
                    counted(score.listeners, "listener"), counted(score.unanswered, "answer"));
    text += agreement_lines(score);
    text += "\nDo the indices follow the ear? (rank correlation with fullness, 95 % interval)\n";
    for (const ListeningResult& row : score.follows)
        if (row.heard == "fullness")
            text += "  " + left(cut(row.index, 24), 25) +
                    left(interval(row.rho, row.low, row.high), 29) + row.verdict + '\n';
    text += "\nAre the screens right? (weighted to all segments)\n";
    for (const ScreenRow& row : score.screens)
        text += fmt::format("  {:<8} precision {}, recall {}\n", row.reason,
                            interval(row.precision, row.precision_low, row.precision_high),
                            interval(row.recall, row.recall_low, row.recall_high));
    text += fmt::format("\nDo {} and {} differ to the ear?\n", printable(survey.stands.class_a),
                        printable(survey.stands.class_b));
    for (const ContrastRow& row : score.contrasts)
        text +=
            row.tested()
                ? fmt::format("  {:<15} {} against {}, difference {}, p {}\n", row.index,
                              two_digits(row.mean_a), two_digits(row.mean_b),
                              interval(row.difference, row.ci_low, row.ci_high), readable_p(row.p))
                : fmt::format("  {:<15} not tested: fewer than 2 sites in a class\n", row.index);
    return text;
}

}  // namespace hearwood

// The score as tables and as lines to read.
#include <fmt/format.h>

#include <cmath>

#include "aggregate/tables.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/listening.h"
#include "contrast/words.h"
#include "listen/score.h"
#include "store/csv_writer.h"

namespace hearwood {
namespace {

using Header = std::vector<std::string>;

void write_follows(const std::filesystem::path& folder, const ListeningScore& score) {
    CsvWriter csv(folder / "listening.csv", Header{"index", "heard", "rho", "ci_low", "ci_high",
                                                   "clips", "sites", "listeners", "verdict"});
    for (const FollowRow& row : score.follows) {
        csv.text(row.index);
        csv.text(row.heard);
        for (const double number : {row.rho, row.low, row.high}) csv.number(number);
        for (const int count : {row.clips, row.sites, score.listeners}) csv.integer(count);
        csv.text(row.verdict);
        csv.end_row();
    }
    csv.commit();
}

void write_agreement(const std::filesystem::path& folder, const ListeningScore& score) {
    CsvWriter csv(folder / "listening_agreement.csv",
                  Header{"listeners", "question", "measure", "clips", "same", "kappa"});
    for (const AgreementRow& row : score.agreement) {
        csv.text(row.who);
        csv.text(row.question);
        csv.text(row.measure);
        csv.integer(row.clips);
        csv.number(row.same);
        csv.number(row.kappa);
        csv.end_row();
    }
    csv.commit();
}

void write_screens(const std::filesystem::path& folder, const ListeningScore& score) {
    CsvWriter csv(
        folder / "listening_screens.csv",
        Header{"screen", "clips", "flagged_weight", "heard_weight", "both_weight", "precision",
               "precision_low", "precision_high", "recall", "recall_low", "recall_high"});
    for (const ScreenRow& row : score.screens) {
        csv.text(row.reason);
        csv.integer(row.clips);
        for (const double number :
             {row.flagged, row.heard, row.both, row.precision, row.precision_low,
              row.precision_high, row.recall, row.recall_low, row.recall_high})
            csv.number(number);
        csv.end_row();
    }
    csv.commit();
}

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
    write_follows(folder, score);
    write_agreement(folder, score);
    write_screens(folder, score);
    write_whole_file(folder / "listening_contrasts.csv", contrasts_csv(score.contrasts));
}

std::string listening_summary(const Survey& survey, const ListeningScore& score) {
    std::string text =
        fmt::format("{} of {}, {}; {} missing\n\nHow far listeners agree\n",
                    counted(score.clips, "clip"), counted(score.sites, "site"),
                    counted(score.listeners, "listener"), counted(score.unanswered, "answer"));
    text += agreement_lines(score);
    text += "\nDo the indices follow the ear? (rank correlation with fullness, 95 % interval)\n";
    for (const FollowRow& row : score.follows)
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

// The score as tables and as lines to read.
#include <fmt/format.h>

#include <cmath>

#include "aggregate/tables.h"
#include "base/file.h"
#include "base/text.h"
#include "contrast/listening.h"
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

std::string interval(double value, double low, double high) {
    if (std::isnan(value)) return "no such clip";
    if (std::isnan(low)) return fmt::format("{:.2f} (no interval: too few)", value);
    return fmt::format("{:.2f} ({:.2f} to {:.2f})", value, low, high);
}

std::string agreement_lines(const ListeningScore& score) {
    std::string text;
    for (const AgreementRow& row : score.agreement)
        if (row.question == "fullness")
            text += fmt::format(
                "  {}, fullness: {:.0f} % the same, {} {}\n", printable(row.who), 100 * row.same,
                row.measure,
                std::isnan(row.kappa) ? "not defined" : fmt::format("{:.2f}", row.kappa));
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
    std::string text = fmt::format(
        "{} clips of {} sites, {} {}; {} answers are missing\n\nHow far listeners agree\n",
        score.clips, score.sites, score.listeners, score.listeners == 1 ? "listener" : "listeners",
        score.unanswered);
    text += agreement_lines(score);
    text +=
        "\nDo the indices follow the ear? (rank correlation with fullness, 95 % interval over "
        "sites)\n";
    for (const FollowRow& row : score.follows)
        if (row.heard == "fullness")
            text += fmt::format("  {:<24} {:<28} {}\n", row.index,
                                interval(row.rho, row.low, row.high), row.verdict);
    text += "\nAre the screens right? (weighted to all segments)\n";
    for (const ScreenRow& row : score.screens)
        text += fmt::format("  {:<8} precision {}, recall {}\n", row.reason,
                            interval(row.precision, row.precision_low, row.precision_high),
                            interval(row.recall, row.recall_low, row.recall_high));
    text += fmt::format("\nDo {} and {} differ to the ear?\n", printable(survey.stands.class_a),
                        printable(survey.stands.class_b));
    for (const ContrastRow& row : score.contrasts)
        text += row.tested() ? fmt::format(
                                   "  {:<16} {:.2f} against {:.2f}, difference {:.2f} ({:.2f} to "
                                   "{:.2f}), p {:.3f}\n",
                                   row.index, row.mean_a, row.mean_b, row.difference, row.ci_low,
                                   row.ci_high, row.p)
                             : fmt::format("  {:<16} not tested: fewer than 2 sites in a class\n",
                                           row.index);
    return text;
}

}  // namespace hearwood

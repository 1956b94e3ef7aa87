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

TableOf<AgreementRow> agreement_table() {
    using Row = AgreementRow;
    return TableOf<Row>("listening_agreement.csv", "agreement of listeners",
                        "A row is a question, and one, two or all listeners.")
        .column("listeners", "", "who of them", &Row::who)
        .column("question", "", "what the listeners were asked", &Row::question)
        .column("measure", "", "Cohen's, weighted or Fleiss' kappa", &Row::measure)
        .column("clips", "1", "clips listened to", &Row::clips)
        .column("same", "1", "share of equal answers", &Row::same)
        .column("kappa", "1", "agreement beyond chance", &Row::kappa);
}

TableOf<FollowRow> follow_table(int listeners) {
    using Row = FollowRow;
    return TableOf<Row>("listening.csv", "indices against the ear",
                        "A row is an index and what was heard: does the index follow it in this "
                        "survey?")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("heard", "", "what listeners said: fullness of animal sound, or kinds of call",
                &Row::heard)
        .column("rho", "1", "Spearman's rank correlation across clips, weighted", &Row::rho)
        .column("ci_low", "", "lower end of the confidence interval", &Row::low)
        .column("ci_high", "", "upper end of the confidence interval", &Row::high)
        .column("clips", "1", "clips listened to", &Row::clips)
        .column("sites", "1", "sites that took part", &Row::sites)
        .column("listeners", "1", "how many people listened",
                [listeners](const Row&) { return listeners; })
        .column("verdict", "", "the result in a sentence", &Row::verdict);
}

TableOf<ScreenRow> screens_table() {
    using Row = ScreenRow;
    return TableOf<Row>("listening_screens.csv", "screens against the ear",
                        "A row is a screen: how right it was, in listeners' ears.")
        .column("screen", "", "the screen that is held against the ear", &Row::reason)
        .column("clips", "1", "clips listened to", &Row::clips)
        .column("flagged_weight", "1", "segments that the clips with this flag stand for",
                &Row::flagged)
        .column("heard_weight", "1", "segments that the clips in which it was heard stand for",
                &Row::heard)
        .column("both_weight", "1", "segments that the clips with both stand for", &Row::both)
        .column("precision", "1", "share of what was flagged in which it was heard",
                &Row::precision)
        .column("precision_low", "1", "lower end of its 95 % interval", &Row::precision_low)
        .column("precision_high", "1", "upper end of its 95 % interval", &Row::precision_high)
        .column("recall", "1", "share of what was heard that was flagged", &Row::recall)
        .column("recall_low", "1", "lower end of its 95 % interval", &Row::recall_low)
        .column("recall_high", "1", "upper end of its 95 % interval", &Row::recall_high);
}

TableOf<ContrastRow> heard_contrasts_table() {
    return contrasts_table("listening_contrasts.csv", "contrasts of what was heard",
                           "As contrasts.csv, for what listeners heard.");
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
    const TableOf<FollowRow> follows = follow_table(score.listeners);
    write_table(follows, score.follows, folder / follows.description().path);
    write_table(agreement_table(), score.agreement, folder / "listening_agreement.csv");
    write_table(screens_table(), score.screens, folder / "listening_screens.csv");
    write_table(heard_contrasts_table(), score.contrasts, folder / "listening_contrasts.csv");
}

std::vector<TableDescription> listening_tables() {
    return {follow_table(0).description(), agreement_table().description(),
            screens_table().description(), heard_contrasts_table().description()};
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

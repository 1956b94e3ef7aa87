// `board SURVEY`: a line a deployment, what needs a hand soonest first.
#include "board/board.h"

#include <fmt/core.h>

#include "base/file.h"
#include "base/log.h"
#include "command/command.h"
#include "survey/survey.h"

namespace hearwood {
namespace {

constexpr std::size_t kFindingsShown = 6;

struct BoardOptions : SharedOptions {
    bool html = false;
};

ExitCode show_board(const BoardOptions& options) {
    std::vector<Problem> forgiven;
    const Survey survey = load_survey_for(options.survey, "", forgiven);
    log_line(forgiven);
    const Store store = Store::open_or_empty(survey.folder);
    const std::vector<BoardLine> lines = board(survey, store);
    fmt::print("{}", board_text(survey, lines));
    if (const std::string findings = board_findings(lines, kFindingsShown); !findings.empty()) {
        print_heading("Findings");
        fmt::print("{}", findings);
    }
    if (options.html) {
        make_folder(survey.folder / "hearwood");
        write_whole_file(survey.folder / "hearwood" / "board.html", board_html(survey, lines));
        fmt::print("\nwritten: hearwood/board.html\n");
    }
    return ExitCode::ok;
}

}  // namespace

Run add_board(CLI::App& program) {
    CommandOf<BoardOptions> command(
        program, "board", "how it stands with each deployment, and what needs a hand soonest");
    command.add_survey();
    command.add_flag("--html", command->html, "write hearwood/board.html as well");
    command.example("hearwood board ~/surveys/heath-and-alluvium");
    return command.does(show_board);
}

}  // namespace hearwood

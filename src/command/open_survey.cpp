#include "command/open_survey.h"

#include <fmt/format.h>

#include "base/log.h"
#include "base/text.h"
#include "command/print.h"

namespace hearwood {

namespace {
bool left_out = false;
}  // namespace

Survey open_survey(const std::string& folder) {
    Survey survey = load_usable_survey(folder);
    left_out = left_out || !survey.left_out.empty();
    if (!part_of_run())
        for (const LeftOutRow& row : survey.left_out)
            log_line(
                printable(fmt::format("{} {} is left out: {}", row.is_site ? "site" : "deployment",
                                      row.name.empty() ? "without a name" : row.name, row.why)));
    return survey;
}

bool something_was_left_out() {
    return left_out;
}

}  // namespace hearwood

#include "plan/trial_sheet.h"

#include "plan/templates.h"
#include "words/printed_page.h"

namespace hearwood {
namespace {

constexpr int kRows = 21;  // seven sites at three distances; the page keeps its length

}  // namespace

Html trial_page(const Survey& survey, const Words& words) {
    const HtmlTemplate sheet = in_language(kTrialSheetTemplate, words);
    Html rows;
    for (int row = 0; row < kRows; ++row) rows += sheet.fill("row");
    return sheet.fill("page",
                      {{"local_time", words.say("sheet.local_time", {{"zone", survey.time_zone}})},
                       {"rows", rows},
                       {"unchecked", unchecked_note(words)}});
}

}  // namespace hearwood

#include "plan/labels.h"

#include <fmt/format.h>

#include "base/text.h"

namespace hearwood {

namespace {

constexpr const char* kHead = R"html(<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Labels</title>
<style>
@page { margin: 10mm }
body { font: 10pt sans-serif; margin: 0 }
.sheet { display: grid; grid-template-columns: repeat(3, 60mm); gap: 3mm }
.label { border: 0.3mm dashed #888; padding: 2mm 3mm; height: 24mm; overflow: hidden; break-inside: avoid }
.what { font-size: 8pt; color: #444 }
.name { font-weight: bold; font-size: 12pt; overflow-wrap: anywhere }
</style></head><body><div class="sheet">
)html";

std::string label(const Survey& survey, const Visit& visit, const char* what) {
    const std::string& site = survey.sites[visit.site].name;
    std::string name = site, recorder;
    if (visit.deployment) {
        name = survey.deployments[*visit.deployment].name;
        recorder = survey.deployments[*visit.deployment].recorder;
    }
    return fmt::format(
        "<div class=\"label\"><div class=\"what\">{} &middot; {}</div><div class=\"name\">{}</div>"
        "<div>site {}</div><div>{} from {}</div></div>\n",
        what, escape_html(survey.title), escape_html(name), escape_html(site),
        recorder.empty() ? "recorder ........" : "recorder " + escape_html(recorder),
        format_date(visit.first));
}

}  // namespace

std::string labels_html(const Survey& survey, const std::vector<Visit>& visits,
                        const std::vector<std::size_t>& sites) {
    std::string html = kHead;
    for (const std::size_t site : sites)
        for (const Visit& visit : visits)
            if (visit.site == site)
                html += label(survey, visit, "recorder") + label(survey, visit, "card");
    return html + "</div></body></html>\n";
}

}  // namespace hearwood

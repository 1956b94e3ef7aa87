#include "plan/labels.h"

#include "base/html_template.h"
#include "plan/templates.h"

namespace hearwood {

namespace {

Html label(const HtmlTemplate& labels, const Survey& survey, const Visit& visit,
           const std::string& what) {
    const std::string& site = survey.sites[visit.site].name;
    std::string name = site, recorder;
    if (visit.deployment) {
        name = survey.deployments[*visit.deployment].name;
        recorder = survey.deployments[*visit.deployment].recorder;
    }
    return labels.fill("label", {{"what", what},
                                 {"survey", survey.title},
                                 {"name", name},
                                 {"site", site},
                                 {"recorder", recorder.empty() ? "........" : recorder},
                                 {"from", format_date(visit.first)}});
}

}  // namespace

std::string labels_html(const Survey& survey, const std::vector<Visit>& visits,
                        const std::vector<std::size_t>& sites) {
    const HtmlTemplate labels(kLabelsTemplate);
    Html all;
    for (const std::size_t site : sites)
        for (const Visit& visit : visits)
            if (visit.site == site)
                all +=
                    label(labels, survey, visit, "recorder") + label(labels, survey, visit, "card");
    return labels.fill("document", {{"labels", all}}).text();
}

}  // namespace hearwood

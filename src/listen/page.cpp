#include "listen/page.h"

#include <nlohmann/json.hpp>

#include "base/html_template.h"
#include "store/json.h"
#include "words/family.h"

namespace hearwood {

std::string listening_page(const std::string& sheet, const std::vector<std::string>& clips,
                           double seconds, double plot_from, double plot_to) {
    const nlohmann::json data = {
        {"sheet", sheet}, {"clips", clips}, {"seconds", seconds}, {"plot", {plot_from, plot_to}}};
    return HtmlTemplate(kListenTemplate)
        .fill("document", {{"style", Html::trusted(family_style() + std::string(kListenStyle))},
                           {"data", Html::trusted(json_text(data))},
                           {"script", Html::trusted(kListenScript)}})
        .text();
}

}  // namespace hearwood

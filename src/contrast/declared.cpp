#include "contrast/declared.h"

namespace hearwood {

ContrastPlan contrast_plan(const Survey& survey, const std::vector<ListeningResult>& heard) {
    ContrastPlan plan;
    plan.class_a = survey.stands.class_a;
    plan.class_b = survey.stands.class_b;
    plan.primary_index = survey.contrast.primary_index;
    plan.primary_window = survey.contrast.primary_window;
    plan.seed = survey.contrast.seed;
    plan.level = survey.contrast.level;
    if (!plan.primary_index.empty()) plan.matters = survey.contrast.matters;  // it is in its unit
    plan.listening = listening_sentence_of(heard, plan.primary_index);
    return plan;
}

}  // namespace hearwood

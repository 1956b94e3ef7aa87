// The score in survey.db, with the answers that it was made from.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "aggregate/site_values.h"
#include "contrast/kept_results.h"
#include "listen/score.h"
#include "store/json.h"

namespace hearwood {

namespace {

using Json = nlohmann::json;

constexpr const char* kAnswers = "listening answers";

std::string sheet_of(const std::vector<KeyLine>& key) {
    return key.empty() ? std::string() : key.front().sheet;
}

Json answer_json(const Answer& answer) {
    return {{"listener", answer.listener}, {"clip", answer.clip},         {"heard", answer.heard},
            {"kinds", answer.kinds},       {"fullness", answer.fullness}, {"unsure", answer.unsure},
            {"note", answer.note}};
}

Answer answer_of(const Json& json) {
    Answer answer;
    json.at("listener").get_to(answer.listener);
    json.at("clip").get_to(answer.clip);
    json.at("heard").get_to(answer.heard);
    json.at("kinds").get_to(answer.kinds);
    json.at("fullness").get_to(answer.fullness);
    json.at("unsure").get_to(answer.unsure);
    json.at("note").get_to(answer.note);
    return answer;
}

}  // namespace

std::vector<Answer> answers_in(const Survey& survey,
                               const std::vector<std::filesystem::path>& files) {
    return read_answers(files, read_key(survey.folder));
}

std::vector<Answer> kept_answers(const Survey& survey, const Store& store) {
    const auto kept = store.kept_result(kAnswers);
    if (!kept)
        throw InputError("no answers of a listening check are kept in this survey",
                         "name the files that the page saved: listen SURVEY --score FILE...");
    if (kept->fingerprint != sheet_of(read_key(survey.folder)))
        throw InputError("the answers that are kept belong to an earlier listening sheet",
                         "score the answers to the new one: listen SURVEY --score FILE...");
    std::vector<Answer> answers;
    for (const Json& answer : read_json(kept->json)) answers.push_back(answer_of(answer));
    return answers;
}

void keep_score(const Survey& survey, const Store& measured, const std::vector<Answer>& answers,
                const ListeningScore& score) {
    const std::string fingerprint =
        fingerprint_of(kListening, survey, compute_site_values(survey, measured));
    Json list = Json::array();
    for (const Answer& answer : answers) list.push_back(answer_json(answer));
    const KeptResult results[] = {{kListening, fingerprint, listening_json(score)},
                                  {kAnswers, sheet_of(read_key(survey.folder)), json_text(list)}};
    keep_results(survey.folder, results);
}

}  // namespace hearwood

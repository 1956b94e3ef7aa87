// The questions of the sheet, held against each other listener by listener.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "listen/score.h"
#include "statistics/kappa.h"

namespace hearwood {
namespace {

struct Question {
    std::string name;
    int categories;
    bool scale;  ///< steps in order: weighted kappa
    int (*category)(const Answer&, std::size_t);
    std::size_t box;
};

std::vector<Question> questions() {
    std::vector<Question> all;
    for (std::size_t i = 0; i < kHeard.size(); ++i)
        all.push_back({kHeard[i], 2, false,
                       [](const Answer& a, std::size_t box) { return int{a.heard[box]}; }, i});
    all.push_back(
        {"kinds", 4, true, [](const Answer& a, std::size_t) { return std::min(a.kinds, 3); }, 0});
    all.push_back({"fullness", kFullnessSteps, true,
                   [](const Answer& a, std::size_t) { return a.fullness; }, 0});
    return all;
}

/// The answers of each listener by clip name.
using ByListener = std::map<std::string, std::map<std::string, const Answer*>>;

AgreementRow pair_row(const std::string& who, const Question& question,
                      const std::vector<std::pair<const Answer*, const Answer*>>& answers) {
    std::vector<JudgementPair> pairs;
    double same = 0;
    for (const auto& [a, b] : answers) {
        pairs.push_back({question.category(*a, question.box), question.category(*b, question.box)});
        same += pairs.back().first == pairs.back().second;
    }
    return {who,
            question.name,
            question.scale ? "weighted kappa" : "Cohen's kappa",
            static_cast<int>(pairs.size()),
            same / static_cast<double>(pairs.size()),
            question.scale ? weighted_kappa(pairs, question.categories)
                           : cohen_kappa(pairs, question.categories)};
}

void add_within(const ByListener& listeners, const std::vector<KeyLine>& key,
                std::vector<AgreementRow>& rows) {
    for (const auto& [name, own] : listeners) {
        std::vector<std::pair<const Answer*, const Answer*>> twice;
        for (const KeyLine& line : key) {
            const auto first = own.find(line.repeat_of), second = own.find(line.clip);
            if (!line.repeat_of.empty() && first != own.end() && second != own.end())
                twice.emplace_back(first->second, second->second);
        }
        if (twice.empty()) continue;
        for (const Question& question : questions())
            rows.push_back(pair_row(name + " within", question, twice));
    }
}

void add_between(const ByListener& listeners, std::vector<AgreementRow>& rows) {
    for (auto a = listeners.begin(); a != listeners.end(); ++a)
        for (auto b = std::next(a); b != listeners.end(); ++b) {
            std::vector<std::pair<const Answer*, const Answer*>> both;
            for (const auto& [clip, answer] : a->second)
                if (const auto other = b->second.find(clip); other != b->second.end())
                    both.emplace_back(answer, other->second);
            if (both.empty()) continue;
            for (const Question& question : questions())
                rows.push_back(pair_row(a->first + " and " + b->first, question, both));
        }
}

/// Clips that every listener answered.
void add_all(const ByListener& listeners, std::vector<AgreementRow>& rows) {
    if (listeners.size() < 2) return;
    for (const Question& question : questions()) {
        std::vector<std::vector<int>> counts;
        double same = 0;
        for (const auto& [clip, first] : listeners.begin()->second) {
            std::vector<int> row(question.categories, 0);
            for (const auto& [name, own] : listeners)
                if (const auto answer = own.find(clip); answer != own.end())
                    ++row[question.category(*answer->second, question.box)];
            int judges = 0, pairs = 0;
            for (const int n : row) {
                judges += n;
                pairs += n * (n - 1);
            }
            if (judges != static_cast<int>(listeners.size())) continue;
            same += static_cast<double>(pairs) / (judges * (judges - 1));
            counts.push_back(std::move(row));
        }
        if (counts.empty()) return;
        rows.push_back({fmt::format("all {}", listeners.size()), question.name, "Fleiss' kappa",
                        static_cast<int>(counts.size()), same / static_cast<double>(counts.size()),
                        fleiss_kappa(counts)});
    }
}

}  // namespace

std::vector<AgreementRow> agreement(const std::vector<Answer>& answers,
                                    const std::vector<KeyLine>& key) {
    ByListener listeners;
    for (const Answer& answer : answers) listeners[answer.listener][answer.clip] = &answer;
    std::vector<AgreementRow> rows;
    add_within(listeners, key, rows);
    add_between(listeners, rows);
    add_all(listeners, rows);
    return rows;
}

}  // namespace hearwood

#include "listen/answers.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "base/sheet.h"

namespace hearwood {
namespace {

/// Columns of one file, looked up once; a missing one is a problem of the file.
class AnswerSheet {
  public:
    AnswerSheet(const Sheet& sheet, std::vector<Problem>& problems)
        : sheet_(sheet), problems_(problems) {
        for (const char* name :
             {"sheet", "listener", "clip", "kinds", "fullness", "unsure", "note"})
            find(name);
        for (const char* name : kHeard) find(name);
    }

    bool whole() const { return whole_; }
    const std::string& text(const SheetRow& row, const char* name) const {
        return row.cells[columns_.at(name)];
    }

    /// A whole number from 0 to most; anything else is a problem.
    int number(const SheetRow& row, const char* name, int most) {
        const std::size_t column = columns_.at(name);
        const SheetNumber number = sheet_number(sheet_, row.cells[column]);
        if (number.state == SheetNumber::State::number &&
            number.value == std::floor(number.value) && number.value >= 0 && number.value <= most)
            return static_cast<int>(number.value);
        complain(row, name, "not a whole number from 0 to " + std::to_string(most),
                 "write such a number, or take the file as the page saved it");
        return 0;
    }

    void complain(const SheetRow& row, const char* name, const std::string& what,
                  const std::string& fix) {
        problems_.push_back(sheet_problem(sheet_, row, columns_.at(name), what, fix));
    }

  private:
    void find(const char* name) {
        const auto column = sheet_.column(name);
        if (column) {
            columns_[name] = *column;
            return;
        }
        whole_ = false;
        problems_.push_back({sheet_.file, sheet_.header_line, 0, name, "",
                             "the column is not there",
                             "take the file as the page's 'Save answers' wrote it"});
    }

    const Sheet& sheet_;
    std::vector<Problem>& problems_;
    std::map<std::string, std::size_t, std::less<>> columns_;
    bool whole_ = true;
};

/// Everything that an answer can be wrong about, but its numbers.
class Checker {
  public:
    explicit Checker(const std::vector<KeyLine>& key) : sheet_(key.empty() ? "" : key[0].sheet) {
        for (const KeyLine& line : key) clips_.insert(line.clip);
    }

    bool check(AnswerSheet& from, const SheetRow& row) {
        if (from.text(row, "sheet") != sheet_) {
            from.complain(row, "sheet",
                          "these are answers to another listening sheet than " + sheet_,
                          "score them in the survey and with the key they belong to");
            return false;
        }
        if (!clips_.contains(from.text(row, "clip"))) {
            from.complain(row, "clip", "the sheet has no such clip",
                          "take the file as the page saved it");
            return false;
        }
        if (from.text(row, "listener").empty()) {
            from.complain(row, "listener", "nobody's name stands here",
                          "write the listener's name or initials");
            return false;
        }
        if (!seen_.emplace(from.text(row, "listener"), from.text(row, "clip")).second) {
            from.complain(row, "clip",
                          "this listener has answered the clip already, here or in another file",
                          "give each file once, and each listener a name of their own");
            return false;
        }
        return true;
    }

  private:
    std::string sheet_;
    std::set<std::string> clips_;
    std::set<std::pair<std::string, std::string>> seen_;
};

}  // namespace

bool Answer::animals() const {
    return std::any_of(heard.begin(), heard.begin() + kAnimalKinds, [](bool on) { return on; });
}

std::vector<Answer> read_answers(const std::vector<std::filesystem::path>& files,
                                 const std::vector<KeyLine>& key) {
    std::vector<Problem> problems;
    std::vector<Answer> answers;
    Checker checker(key);
    for (const std::filesystem::path& file : files) {
        const Sheet sheet = read_sheet(file, file.string(), problems);
        if (sheet.header.empty()) continue;
        AnswerSheet columns(sheet, problems);
        if (!columns.whole()) continue;
        for (const SheetRow& row : sheet.rows) {
            if (!checker.check(columns, row)) continue;
            Answer answer;
            answer.listener = columns.text(row, "listener");
            answer.clip = columns.text(row, "clip");
            for (std::size_t i = 0; i < kHeard.size(); ++i)
                answer.heard[i] = columns.number(row, kHeard[i], 1) == 1;
            answer.kinds = columns.number(row, "kinds", 100);
            answer.fullness = columns.number(row, "fullness", kFullnessSteps - 1);
            answer.unsure = columns.number(row, "unsure", 1) == 1;
            answer.note = columns.text(row, "note");
            answers.push_back(std::move(answer));
        }
    }
    if (!problems.empty()) throw InputError(problems);
    if (answers.empty())
        throw InputError("no answers in these files", "give the CSV files that the page saved");
    return answers;
}

}  // namespace hearwood

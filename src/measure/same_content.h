// The same sound under two deployments: a copying slip that makes one site's animals those of
// another. Copies within a deployment are known_recordings' affair.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// Two deployments and recordings of equal content in them.
struct SameContent {
    std::string one, other;            ///< deployments, in the order of their names
    std::string path_one, path_other;  ///< the first of them; as in the store
    std::size_t recordings = 0;        ///< so many pairs
};

class ContentComparer {
  public:
    ContentComparer(const Survey& survey, const Store& store) : survey_(survey), store_(store) {}

    void add(const RecordingRow& row);

    /// By SHA-256 where it is known; else recordings of one size whose first measured values, or
    /// for those not measured some blocks, are the same are read whole and compared. Sorted.
    std::vector<SameContent> find();

  private:
    struct Item {
        std::int64_t id;
        std::string deployment, path, sha256;
        bool measured;
    };
    using Groups = std::map<std::string, std::vector<Item*>>;
    std::string first_look(const Item& item) const;
    std::string whole_sum(Item& item) const;
    void settle(const Groups& groups);

    const Survey& survey_;
    const Store& store_;
    std::map<std::int64_t, std::vector<Item>> by_size_;
    std::map<std::string, std::map<std::string, std::string>> by_sum_;  // sum: deployment: path
};

}  // namespace hearwood

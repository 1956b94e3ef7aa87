// Is this the card of that deployment? From names, times and serial numbers; content is compared
// while it is copied.
#pragma once

#include <map>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// What earlier offloads showed of the recorders of the survey.
class KnownRecorders {
  public:
    KnownRecorders(const Survey& survey, const Store& store);

    /// How a card with these marks misfits the deployment: one clause each; empty when nothing
    /// speaks against it. `prefix` is what stands before the time in its files' names, `serial`
    /// what their headers say; both may be empty.
    std::vector<std::string> misfits(const Deployment& deployment, const std::string& prefix,
                                     const std::string& serial) const;

  private:
    struct Marks {
        std::set<std::string> prefixes, serials;
    };
    void compare(const Deployment& deployment, const std::string& mark, const std::string& what,
                 std::set<std::string> Marks::*seen, std::vector<std::string>& found) const;

    const Survey& survey_;
    std::map<std::string, Marks> by_deployment_;
};

/// A clause when more than half of these starts lie outside the deployment; empty otherwise.
std::string times_misfit(const Survey& survey, const Deployment& deployment,
                         std::span<const Instant> starts);

}  // namespace hearwood

// Sites that hear the same animals, counted as one.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/audit.h"
#include "contrast/contrast.h"

namespace hearwood {

/// Groups of two or more sites of one class and block that lie nearer than the distance, directly
/// or by way of others. Site names in the order given.
std::vector<std::vector<std::string>> nearby_groups(std::span<const AuditSite> sites,
                                                    double metres);

/// The units with each group replaced by one, named "a + b", whose value is the mean of those its
/// sites have.
std::vector<Unit> with_groups_as_one(std::span<const Unit> units,
                                     std::span<const std::vector<std::string>> groups);

}  // namespace hearwood

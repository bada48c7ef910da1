// Which plants indicate each unit, in words.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "subcrop/model/reduced.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::infer {

/// A stop whose plants were noted and that tells of a unit.
struct PlantSite {
    model::UnitIndex unit;
    std::size_t plants;  ///< index into Reduced::plants.values
};

/// For each unit the taxa that indicate it, the strongest three: "heather (IndVal 0.62, p 0.004)". A taxon not named at a stop
/// counts as absent there, whether or not the list is complete: an observer's habits are the same over every unit.
std::vector<std::string> indicating_plants(const std::vector<PlantSite>& sites, const model::Reduced& reduced,
                                           std::size_t units, std::uint64_t seed);

}  // namespace subcrop::infer

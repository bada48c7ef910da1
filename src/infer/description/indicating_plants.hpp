// Which plants indicate each unit, in words.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::infer {

/// A stop with plant notes that counts for a unit.
struct PlantSite {
    model::UnitIndex unit;
    std::size_t plants;  ///< index into Reduced::plants.values
};

/// For each unit the three taxa that indicate it best. A taxon not named at a stop counts as absent, even if the list
/// is incomplete, because an observer's habits are the same on every unit.
std::vector<std::vector<IndicatingPlant>> indicating_plants(const std::vector<PlantSite>& sites,
                                                            const model::Reduced& reduced, std::size_t units,
                                                            std::uint64_t seed);
/// "heather (IndVal 0.62, p 0.004, corrected 0.02), bracken (...)"
std::string plant_words(const std::vector<IndicatingPlant>& plants);

}  // namespace subcrop::infer

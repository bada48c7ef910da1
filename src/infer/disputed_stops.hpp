// The step of the reckoning that looks for ground drafted wrong as a whole, and what it does to a stop's probabilities.
#pragma once

#include <cstddef>
#include <vector>

#include "reckoning.hpp"
#include "subcrop/infer/patch_scan.hpp"

namespace subcrop::infer {

/// `membership`: stops x units, from the draft once its contacts have moved. `ground`: share of each unit in the map.
PatchScan scan_for_patches(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const ShiftField& field,
                           const std::vector<float>& membership, const std::vector<double>& ground, unsigned threads);

/// Mixes what the stop's surroundings say into its probabilities: 1 - p = (1 - p) (1 - p_patch) for the drafted unit.
/// Returns p_patch.
double add_patches(const PatchScan& scan, std::size_t stop, std::vector<double>& probability);

}  // namespace subcrop::infer

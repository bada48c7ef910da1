// The answer in words: along how much of the drafted contacts, and by how much, they run elsewhere. Screen and page say
// the same.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/model/survey.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

/// "Contacts run elsewhere along 3.1 of 47 km, by 35 m on average (least 10, most 80 m)", or that none is shown to. No
/// full stop.
std::string contacts_in_a_line(const infer::MovedLength& length);

/// Why, in a sentence or two: how sure that is, what held-out ground said, what no stop tells.
std::string contacts_because(const infer::MovedLength& length, const infer::Fit& fit,
                             const infer::Relocation& relocation, const infer::RevisedMap& revised);

struct StretchOf {
    std::size_t contact = 0, stretch = 0;
};
/// Every stretch that runs elsewhere, the one with most ground between draft and contact first; equals in map order.
std::vector<StretchOf> largest_stretches(const infer::Relocation& relocation);

/// The largest few, named, with their length, shift, standard error and place.
std::vector<Highlight> stretches_elsewhere(const model::Survey& survey, const geo::UnitMap& map,
                                           const infer::Relocation& relocation, std::size_t most);

/// Hectares that all suggested visits together are expected to put right: "0.7", "under 0.1".
std::string hectares_put_right(const std::vector<infer::NextStop>& next_stops);

/// What all suggested visits together are expected to put right, and plainly where that is little. Empty where none is
/// suggested.
std::string worth_of_visits(const std::vector<infer::NextStop>& next_stops, double mapped_m2);

}  // namespace subcrop::publish

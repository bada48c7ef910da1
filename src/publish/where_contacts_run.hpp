// The answer in words: the length of misplaced contacts, and by how much. Screen and page use the same words.
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

/// "Contacts are misplaced along 3.1 of 47 km, by 35 m on average (10 to 80 m)", or that none needs to move. Without a
/// full stop.
std::string contacts_in_a_line(const infer::MovedLength& length);

/// Why, in one or two sentences: how sure it is, the result at hidden stops, and what is untested.
std::string contacts_because(const infer::MovedLength& length, const infer::Fit& fit,
                             const infer::Relocation& relocation, const infer::RevisedMap& revised);

struct StretchOf {
    std::size_t contact = 0, stretch = 0;
};
/// Every misplaced stretch, the one with the largest area between draft and contact first; equals in map order.
std::vector<StretchOf> largest_stretches(const infer::Relocation& relocation);

/// The largest few, named, with their length, shift, standard error and place.
std::vector<Highlight> stretches_elsewhere(const model::Survey& survey, const geo::UnitMap& map,
                                           const infer::Relocation& relocation, std::size_t most);

/// Hectares expected to be corrected by all suggested visits together: "0.7", "under 0.1".
std::string hectares_put_right(const std::vector<infer::NextStop>& next_stops);

/// A sentence on the area expected to be corrected by all suggested visits; it says so if that is little. Empty if none
/// is suggested.
std::string worth_of_visits(const std::vector<infer::NextStop>& next_stops, double mapped_m2);

}  // namespace subcrop::publish

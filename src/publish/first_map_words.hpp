// What the layers say of themselves where there was no draft and a first map was drawn.
#pragma once

#include <string>

#include "subcrop/infer/first_map.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

/// Puts titles and descriptions that speak of a draft right. The layers, their columns and their types stay the same.
void tell_of_first_map(io::FileDefinition& file);

/// The unit that the first map shows at a stop whose rock, or whose plain soil, is of another; no_unit where it does
/// not or there is a draft.
model::UnitIndex first_map_against(const Results& results, std::size_t stop);

/// The reason for a stop's verdict, with a sentence where the first map contradicts the stop.
std::string reason_words(const Results& results, std::size_t stop);

/// A sentence where the rock seen does not show how far a unit reaches; else empty.
std::string range_words(const infer::RockPrior& prior, const infer::FirstMap& first);

}  // namespace subcrop::publish

// Descriptions of the layers if there was no draft and a first map was drawn.
#pragma once

#include <string>

#include "subcrop/infer/first_map.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

/// Replaces titles and descriptions that mention a draft. The layers, their columns and their types stay the same.
void tell_of_first_map(io::FileDefinition& file);

/// The unit of the first map at a stop, if it contradicts the stop's observed bedrock or its clear soil. Else no_unit;
/// also with a draft.
model::UnitIndex first_map_against(const Results& results, std::size_t stop);

/// The reason for a stop's verdict, with one more sentence if the first map contradicts the stop.
std::string reason_words(const Results& results, std::size_t stop);

/// A sentence if observed bedrock does not show how far a unit reaches; else empty.
std::string range_words(const infer::RockPrior& prior, const infer::FirstMap& first);

}  // namespace subcrop::publish

// What the layers say of themselves where there was no draft and a first map was drawn.
#pragma once

#include <string>

#include "subcrop/infer/first_map.hpp"
#include "subcrop/io/layer_writer.hpp"

namespace subcrop::publish {

/// Puts titles and descriptions that speak of a draft right. The layers, their columns and their types stay the same.
void tell_of_first_map(io::FileDefinition& file);

/// A sentence where the rock seen does not show how far a unit reaches; else empty.
std::string range_words(const infer::RockPrior& prior, const infer::FirstMap& first);

}  // namespace subcrop::publish

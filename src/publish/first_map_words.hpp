// What the layers say of themselves where there was no draft and a first map was drawn.
#pragma once

#include "subcrop/io/layer_writer.hpp"

namespace subcrop::publish {

/// Puts titles and descriptions that speak of a draft right. The layers, their columns and their types stay the same.
void tell_of_first_map(io::FileDefinition& file);

}  // namespace subcrop::publish

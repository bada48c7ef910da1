// What the reader of notations asks of the renotation table.
#pragma once

namespace subcrop::field {

/// The greatest chroma in the renotation at the steps of hue and value around a colour.
double max_measured_chroma(double hue, double value);

}  // namespace subcrop::field

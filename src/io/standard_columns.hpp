// The columns a survey may have, by our names. One list serves the survey file's check of its keys and the readers.
#pragma once

#include <string>
#include <vector>

namespace subcrop::io {

/// Columns of the stop table alone.
const std::vector<std::string>& stop_columns();
/// Columns of a horizon. Without a horizon table they may be in the stop table.
const std::vector<std::string>& horizon_columns();
const std::vector<std::string>& map_columns();
const std::vector<std::string>& legend_columns();
const std::vector<std::string>& borehole_columns();
const std::vector<std::string>& attitude_columns();
/// The user's names of plants, and weights for the origin of soil.
const std::vector<std::string>& plant_columns();
const std::vector<std::string>& kind_columns();  ///< the user's names of rocks, minerals and landforms
const std::vector<std::string>& parent_material_columns();

}  // namespace subcrop::io

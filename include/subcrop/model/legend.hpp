// A map unit of the legend, with the soil that the geologist expects on it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// The soil expected on a unit before any stop is used. It enters the signature as a prior worth `worth_stops`.
struct ExpectedSoil {
    std::vector<std::string> colours;   ///< Munsell notations of the moist subsoil
    std::vector<std::string> textures;  ///< texture class codes of the subsoil
    std::vector<std::string> plants;
    std::vector<std::string> reactions;  ///< effervescence classes
    double worth_stops = 5;

    bool empty() const { return colours.empty() && textures.empty() && plants.empty() && reactions.empty(); }
};

struct LegendUnit {
    std::string code;  ///< as the map polygons and `unit_seen` name it
    std::string name;
    std::optional<double> age_order;  ///< 1 is the youngest
    std::string lithology;
    std::string colour;  ///< display colour, "#rrggbb"
    bool cover = false;  ///< a unit of surficial deposits (alluvium, till), not bedrock
    ExpectedSoil expected;
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END

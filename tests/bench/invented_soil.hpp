// Invented soils: what a geologist would write down over each of the invented units. Neighbouring units in the legend
// share hues and textures, so that no single note names the unit.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "bench/random.hpp"

namespace subcrop::bench {

/// Notes of one stop; an empty text was not noted.
struct SoilNote {
    std::string landform;
    std::string colour_moist;
    std::string colour_dry;
    std::string texture;
    std::string effervescence;
    std::string fragment_kind;
};

class InventedSoils {
public:
    InventedSoils(std::size_t units, std::uint64_t seed);
    SoilNote note(std::size_t unit, Random& random) const;

private:
    struct Soil {
        double hue = 0;  ///< place among the hue pages
        double value = 0;
        double chroma = 0;
        std::array<double, 12> textures{};
        std::array<double, 5> effervescence{};
        std::array<double, 8> fragments{};
    };
    std::vector<Soil> soils_;
};

}  // namespace subcrop::bench

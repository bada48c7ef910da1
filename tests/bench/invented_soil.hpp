// Invented soils: what a geologist would write down over each of the invented units. Neighbouring units in the legend
// share hues and textures, so that no single note names the unit.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
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
    // Of hard surveys alone.
    std::string plants;
    std::optional<std::array<double, 3>> sand_silt_clay;  ///< percent, to a decimal
};

class InventedSoils {
public:
    /// `hard`: colours between the chips, plants, and grain sizes measured, so that hardly two notes are alike.
    InventedSoils(std::size_t units, std::uint64_t seed, bool hard = false);
    SoilNote note(std::size_t unit, Random& random) const;

private:
    void note_more(std::size_t unit, SoilNote& note, Random& random) const;

    struct Soil {
        double hue = 0;  ///< place among the hue pages
        double value = 0;
        double chroma = 0;
        std::array<double, 12> textures{};
        std::array<double, 5> effervescence{};
        std::array<double, 8> fragments{};
        std::vector<double> plants;  ///< chance of each
    };
    std::vector<Soil> soils_;
    bool hard_ = false;
};

}  // namespace subcrop::bench

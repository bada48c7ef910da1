#include "bench/invented_soil.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::bench {

namespace {

constexpr std::array<const char*, 7> hues{"10R", "2.5YR", "5YR", "7.5YR", "10YR", "2.5Y", "5Y"};
constexpr std::array<int, 6> chromas{1, 2, 3, 4, 6, 8};
// From coarse to fine, so that classes near one another are drawn together.
constexpr std::array<const char*, 12> textures{"S",  "LS",  "SL", "SCL",  "L",   "SIL",
                                               "SI", "SC", "CL", "SICL", "SIC", "C"};
constexpr std::array<const char*, 5> reactions{"NE", "VS", "SL", "ST", "VE"};
constexpr std::array<const char*, 8> kinds{"granite", "gabbro", "tuff",      "slate",
                                           "quartzite", "sandstone", "limestone", "chert"};
constexpr std::array<const char*, 6> landforms{"summit", "shoulder", "backslope", "footslope", "toeslope", "floodplain"};
constexpr std::array<double, 6> landform_shares{0.14, 0.18, 0.40, 0.17, 0.08, 0.03};

/// Weights that fall off around a centre as a normal curve, over a floor.
template <std::size_t n>
std::array<double, n> around(double centre, double sd, double floor) {
    std::array<double, n> weights{};
    for (std::size_t i = 0; i < n; ++i) {
        const double z = (static_cast<double>(i) - centre) / sd;
        weights[i] = floor + std::exp(-z * z / 2);
    }
    return weights;
}

std::size_t nearest_index(double place, std::size_t count) {
    return static_cast<std::size_t>(std::clamp(std::lround(place), 0L, static_cast<long>(count) - 1));
}

std::string chip(double hue, double value, double chroma) {
    const int whole = static_cast<int>(std::clamp(std::lround(value), 2L, 8L));
    chroma = std::min(chroma, 2.0 * (whole - 1));  // dark chips of strong chroma do not exist
    const auto nearest = std::min_element(chromas.begin(), chromas.end(), [&](int a, int b) {
        return std::abs(a - chroma) < std::abs(b - chroma);
    });
    return std::string(hues[nearest_index(hue, hues.size())]) + " " + std::to_string(whole) + "/" +
           std::to_string(*nearest);
}

}  // namespace

InventedSoils::InventedSoils(std::size_t units, std::uint64_t seed) {
    Random random(seed);
    for (std::size_t unit = 0; unit < units; ++unit) {
        Soil soil;
        soil.hue = random.uniform(0, 6);
        soil.value = random.uniform(3, 5.5);
        soil.chroma = random.uniform(2, 6);
        soil.textures = around<12>(random.uniform(0, 11), 1.3, 0.03);
        // Three units in ten lie over rock that holds carbonate.
        soil.effervescence = around<5>(random.chance(0.3) ? random.uniform(1.5, 4) : -0.5, 0.7, 0.02);
        soil.fragments = around<8>(static_cast<double>(random.index(kinds.size())), 0.4, 0.06);
        soils_.push_back(soil);
    }
}

SoilNote InventedSoils::note(std::size_t unit, Random& random) const {
    const Soil& soil = soils_[unit];
    SoilNote note;
    note.landform = landforms[random.weighted(landform_shares)];
    const double hue = random.normal(soil.hue, 0.6);
    const double value = random.normal(soil.value, 0.7);
    const double chroma = random.normal(soil.chroma, 1.0);
    note.colour_moist = chip(hue, value, chroma);
    if (random.chance(0.9)) note.colour_dry = chip(hue, value + random.uniform(0.7, 2.3), chroma - random.uniform(0, 1));
    if (random.chance(0.95)) note.texture = textures[random.weighted(soil.textures)];
    note.effervescence = reactions[random.weighted(soil.effervescence)];
    if (random.chance(0.7)) note.fragment_kind = kinds[random.weighted(soil.fragments)];
    return note;
}

}  // namespace subcrop::bench

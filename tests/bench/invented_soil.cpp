#include "bench/invented_soil.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace subcrop::bench {

namespace {

constexpr std::array<const char*, 7> hues{"10R", "2.5YR", "5YR", "7.5YR", "10YR", "2.5Y", "5Y"};
constexpr std::array<int, 6> chromas{1, 2, 3, 4, 6, 8};
// From coarse to fine, so that classes near one another are drawn together.
constexpr std::array<const char*, 12> textures{"S",  "LS", "SL", "SCL",  "L",   "SIL",
                                               "SI", "SC", "CL", "SICL", "SIC", "C"};
// Sand, silt and clay of each, about the middle of its region in the texture triangle.
constexpr std::array<std::array<double, 3>, 12> middles{{{92, 5, 3},
                                                         {82, 12, 6},
                                                         {65, 25, 10},
                                                         {58, 15, 27},
                                                         {41, 41, 18},
                                                         {20, 65, 15},
                                                         {7, 87, 6},
                                                         {52, 7, 41},
                                                         {32, 34, 34},
                                                         {10, 56, 34},
                                                         {7, 47, 46},
                                                         {20, 20, 60}}};
constexpr std::array<const char*, 5> reactions{"NE", "VS", "SL", "ST", "VE"};
constexpr std::array<const char*, 8> kinds{"granite",   "gabbro",    "tuff",      "slate",
                                           "quartzite", "sandstone", "limestone", "chert"};
constexpr std::array<const char*, 6> landforms{"summit",    "shoulder", "backslope",
                                               "footslope", "toeslope", "floodplain"};
constexpr std::array<double, 6> landform_shares{0.14, 0.18, 0.40, 0.17, 0.08, 0.03};

constexpr std::array<const char*, 24> plant_names{"heather",
                                                  "bell heather",
                                                  "bilberry",
                                                  "bracken",
                                                  "hard fern",
                                                  "tormentil",
                                                  "wood sorrel",
                                                  "foxglove",
                                                  "birch",
                                                  "rowan",
                                                  "hazel",
                                                  "juniper",
                                                  "wild thyme",
                                                  "meadowsweet",
                                                  "soft rush",
                                                  "dog's mercury",
                                                  "bog-myrtle",
                                                  "sheep's fescue",
                                                  "wavy hair-grass",
                                                  "purple moor-grass",
                                                  "common rock-rose",
                                                  "ash",
                                                  "primrose",
                                                  "marsh marigold"};
constexpr std::array<const char*, 4> how_much{"", "some ", "a little ", "much "};

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

/// Half way between two chips where these are as near, as a careful eye notes it.
std::string between_chips(double hue, double value, double chroma) {
    const auto half = [](double number) {
        char text[16];
        std::snprintf(text, sizeof text, "%.1f", std::round(2 * number) / 2);
        std::string word = text;
        return word.ends_with(".0") ? word.substr(0, word.size() - 2) : word;
    };
    value = std::clamp(value, 2.0, 8.0);
    return std::string(hues[nearest_index(hue, hues.size())]) + " " + half(value) + "/" +
           half(std::clamp(chroma, 1.0, std::min(8.0, 2 * (value - 1))));
}

std::string chip(double hue, double value, double chroma) {
    const int whole = static_cast<int>(std::clamp(std::lround(value), 2L, 8L));
    chroma = std::min(chroma, 2.0 * (whole - 1));  // dark chips of strong chroma do not exist
    const auto nearest = std::min_element(chromas.begin(), chromas.end(),
                                          [&](int a, int b) { return std::abs(a - chroma) < std::abs(b - chroma); });
    return std::string(hues[nearest_index(hue, hues.size())]) + " " + std::to_string(whole) + "/" +
           std::to_string(*nearest);
}

}  // namespace

InventedSoils::InventedSoils(std::size_t units, std::uint64_t seed, bool hard) : hard_(hard) {
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
        if (hard) {
            for (std::size_t plant = 0; plant < plant_names.size(); ++plant)
                soil.plants.push_back(random.chance(0.25) ? random.uniform(0.15, 0.6) : 0.03);
        }
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
    const auto colour = hard_ ? between_chips : chip;
    note.colour_moist = colour(hue, value, chroma);
    if (random.chance(0.9))
        note.colour_dry = colour(hue, value + random.uniform(0.7, 2.3), chroma - random.uniform(0, 1));
    if (random.chance(0.95)) note.texture = textures[random.weighted(soil.textures)];
    note.effervescence = reactions[random.weighted(soil.effervescence)];
    if (random.chance(0.7)) note.fragment_kind = kinds[random.weighted(soil.fragments)];
    if (hard_) note_more(unit, note, random);
    return note;
}

void InventedSoils::note_more(std::size_t unit, SoilNote& note, Random& random) const {
    const Soil& soil = soils_[unit];
    for (std::size_t plant = 0; plant < plant_names.size(); ++plant) {
        if (!random.chance(soil.plants[plant])) continue;
        if (!note.plants.empty()) note.plants += "; ";
        note.plants += std::string(how_much[random.index(how_much.size())]) + plant_names[plant];
    }
    const auto noted = std::find(textures.begin(), textures.end(), note.texture);
    const std::size_t texture =
        noted == textures.end() ? random.weighted(soil.textures) : static_cast<std::size_t>(noted - textures.begin());
    std::array<double, 3> grains = middles[texture];
    double sum = 0;
    for (double& grain : grains) sum += grain *= std::exp(random.normal(0, 0.12));
    const double sand = std::round(1000 * grains[0] / sum) / 10, silt = std::round(1000 * grains[1] / sum) / 10;
    note.sand_silt_clay = {sand, silt, std::round(10 * (100 - sand - silt)) / 10};
}

}  // namespace subcrop::bench

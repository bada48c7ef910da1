// Evidence of a whole profile: the origin of the soil and the depth to rock.
#include <string>
#include <vector>

#include "subcrop/field/plants.hpp"
#include "subcrop/model/reduced.hpp"

namespace subcrop::model {

namespace {

/// O horizons of this many centimetres are a material of their own (Keys to Soil Taxonomy: 40 cm for a Histosol).
constexpr double thick_organic_cm = 40;

/// 'mixed', or three kinds and more in one horizon; other kinds in other horizons may well be bed and vein of one rock.
bool names_several(const std::string& kinds) {
    if (kinds.find("mixed") != std::string::npos) return true;
    const bool list = kinds.find_first_of(",;+&/") != std::string::npos || kinds.find(" and ") != std::string::npos;
    return list && field::read_plants(kinds).taxa.size() >= 3;
}

/// As the log states it.
field::RockDepth rock_depth_of(const Borehole& hole) {
    field::RockDepth rock;
    const auto centimetres = [](std::optional<double> metres) {
        return metres ? std::optional(100 * *metres) : std::nullopt;
    };
    rock.weathered_cm = centimetres(hole.weathered_rock_m);
    rock.depth_cm = rock.weathered_cm ? rock.weathered_cm : centimetres(hole.rock_m);
    if (rock.depth_cm) {
        rock.basis = field::RockDepth::Basis::designated;
        rock.low_cm = *rock.depth_cm;
        rock.high_cm = rock.depth_cm;
    } else if (hole.end_m) {
        rock.basis = field::RockDepth::Basis::deeper_than;
        rock.low_cm = 100 * *hole.end_m;
    }
    return rock;
}

}  // namespace

field::ParentMaterialCues parent_material_cues(const Survey& survey, const Reduced& reduced, std::size_t stop) {
    const Stop& noted = survey.stops[stop];
    field::ParentMaterialCues cues;
    cues.landform = noted.landform.str();
    cues.slope_deg = noted.slope_deg;
    if (!survey.terrain.empty()) {  // used if the field book has no note
        const StopTerrain& ground = survey.terrain[stop];
        if (noted.landform.empty()) cues.landform = ground.landform;
        if (!noted.slope_deg) cues.slope_deg = ground.slope_deg;
    }
    cues.notes = noted.notes.str();
    double organic_cm = 0;
    for (std::uint32_t k = 0; k < noted.horizon_count; ++k) {
        const std::size_t h = noted.first_horizon + k;
        const Horizon& horizon = survey.horizons[h];
        if (reduced.discontinuity[h] > 1) cues.discontinuity = true;
        cues.moved_by_people = reduced.moved_by_people[h] != 0;  // the lowest horizon's holds
        if (!horizon.fragment_shape.empty()) cues.fragment_shape = horizon.fragment_shape.str();
        if (horizon.fragments_pct) cues.fragments_pct = horizon.fragments_pct;
        if (const std::int32_t kind = reduced.fragment_kind.codes[h]; kind >= 0) {
            if (names_several(reduced.fragment_kind.values[static_cast<std::size_t>(kind)])) cues.several_kinds = true;
        }
        if (reduced.zone[h] == field::Zone::none && !reduced.moved_by_people[h] && horizon.top_cm &&
            horizon.bottom_cm) {
            organic_cm += *horizon.bottom_cm - *horizon.top_cm;
        }
    }
    cues.organic_surface_thick = organic_cm >= thick_organic_cm;
    return cues;
}

field::RockDepth rock_depth(const Survey& survey, const Reduced& reduced, std::size_t stop) {
    const Stop& noted = survey.stops[stop];
    if (const Borehole* hole = survey.borehole(stop)) {
        if (const field::RockDepth logged = rock_depth_of(*hole); logged.basis != field::RockDepth::Basis::unknown)
            return logged;
    }
    std::vector<field::RockCues> profile;
    for (std::uint32_t k = 0; k < noted.horizon_count; ++k) {
        const std::size_t h = noted.first_horizon + k;
        const Horizon& horizon = survey.horizons[h];
        profile.push_back({.top_cm = horizon.top_cm,
                           .bottom_cm = horizon.bottom_cm,
                           .zone = reduced.zone[h],
                           .weathered_rock = reduced.weathered_rock[h] != 0,
                           .fragments_pct = horizon.fragments_pct,
                           .fragment_kind = horizon.fragment_kind.str(),
                           .minerals = horizon.minerals.str()});
    }
    return field::rock_depth(profile, noted.notes.str());
}

std::optional<double> cover_thickness_cm(const Survey& survey, std::size_t stop) {
    if (const Borehole* hole = survey.borehole(stop)) {
        if (const auto logged = rock_depth_of(*hole).depth_cm) return logged;
    }
    const Stop& noted = survey.stops[stop];
    std::vector<field::RockCues> profile;
    for (std::uint32_t k = 0; k < noted.horizon_count; ++k) {
        const Horizon& horizon = survey.horizons[noted.first_horizon + k];
        const Parsed<field::Designation> designation = field::parse_designation(horizon.designation.str());
        if (designation && designation.value->parent_material > 1) return 0;
        field::RockCues& cues = profile.emplace_back();
        cues.top_cm = horizon.top_cm;
        cues.bottom_cm = horizon.bottom_cm;
        if (designation) cues.zone = designation.value->zone;
        cues.weathered_rock = designation && designation.value->weathered_rock();
    }
    const field::RockDepth rock = field::rock_depth(profile, noted.notes.str());
    return rock.reached() ? rock.depth_cm : std::nullopt;
}

}  // namespace subcrop::model

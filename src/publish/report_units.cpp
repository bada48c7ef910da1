#include "publish/report_units.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "subcrop/field/texture.hpp"

namespace subcrop::publish {

namespace {

/// [middle chip, swatch, [[chip, swatch, count], ...the commonest five], count of all]; null if none was noted.
Json colour(const infer::ColourSummary& summary) {
    if (summary.chip.empty()) return nullptr;
    Json chips = Json::array();
    for (std::size_t i = 0; i < std::min<std::size_t>(5, summary.chips.values.size()); ++i) {
        const infer::Counted& chip = summary.chips.values[i];
        chips.push_back({chip.name, swatch(chip.name), rounded(chip.count, 1)});
    }
    return {summary.chip, swatch(summary.chip), std::move(chips), rounded(summary.chips.total(), 1)};
}

/// [median, least, greatest, reached, deeper, low, high]; null without usable holes.
Json depth(const infer::DepthSummary& d) {
    if (std::lround(d.reached + d.deeper) == 0 || (d.reached > 0 && !d.min_cm)) return nullptr;
    return {rounded(d.median_cm, 0), rounded(d.min_cm, 0), rounded(d.max_cm, 0), rounded(d.reached, 0),
            rounded(d.deeper, 0),    rounded(d.low_cm, 0), rounded(d.high_cm, 0)};
}

/// The part of the triangle with half of a unit's horizons: [sand, clay, sand, clay, ...] in percent. The median of
/// chi-square with two degrees of freedom is 2 ln 2.
Json ellipse(const field::IlrDistribution& d) {
    constexpr int corners = 40;
    const double middle = (d.covariance[0] + d.covariance[2]) / 2, half = (d.covariance[0] - d.covariance[2]) / 2;
    const double radius = std::hypot(half, d.covariance[1]), angle = 0.5 * std::atan2(d.covariance[1], half);
    const double scale = std::sqrt(2 * std::numbers::ln2);
    const double a = scale * std::sqrt(middle + radius), b = scale * std::sqrt(std::max(0.0, middle - radius));
    Json list = Json::array();
    for (int i = 0; i < corners; ++i) {
        const double t = 2 * std::numbers::pi * i / corners, p = a * std::cos(t), q = b * std::sin(t);
        const field::GrainSize size = field::from_ilr({d.mean[0] + p * std::cos(angle) - q * std::sin(angle),
                                                       d.mean[1] + p * std::sin(angle) + q * std::cos(angle)});
        list.push_back(rounded(size.sand, 1));
        list.push_back(rounded(size.clay, 1));
    }
    return list;
}

}  // namespace

Json report_units(const model::Survey& survey, const std::vector<infer::UnitSummary>& units) {
    Json list = Json::array();
    for (const infer::UnitSummary& u : units) {
        const model::LegendUnit& legend = survey.units[static_cast<std::size_t>(u.unit)];
        Json unit{{"code", legend.code}};
        put(unit, "name", legend.name);
        put(unit, "lithology", legend.lithology);
        put(unit, "colour", legend.colour);
        if (legend.cover) unit["cover"] = true;
        unit["area"] = rounded(u.area_m2, 0);
        unit["stops"] = u.stops;
        unit["seen"] = u.stops_rock_seen;
        unit["agree"] = u.stops_agree;
        unit["conflict"] = u.stops_conflict;
        unit["described"] = rounded(u.described_stops, 1);
        put(unit, "text", infer::unit_description(survey, u));
        unit["moist"] = colour(u.moist);
        unit["dry"] = colour(u.dry);
        put(unit, "textures", u.texture.classes.text());
        if (u.texture.distribution) unit["ellipse"] = ellipse(*u.texture.distribution);
        put(unit, "kinds", u.fragments.kinds.text());
        if (u.fragments.median_pct) {
            unit["fragments"] = {rounded(u.fragments.median_pct, 0), rounded(u.fragments.min_pct, 0),
                                 rounded(u.fragments.max_pct, 0), rounded(u.fragments.horizons, 1)};
        }
        put(unit, "reaction", u.reaction.text(5));
        put(unit, "profile", u.profile.text());
        put(unit, "minerals", u.minerals.text());
        put(unit, "landforms", u.landforms.text());
        put(unit, "plants", u.plants);
        unit["depth"] = depth(u.rock);
        unit["weathered"] = depth(u.weathered_rock);
        put(unit, "materials", u.parent_materials.text());
        put(unit, "mistaken", u.mistaken.unit);
        unit["taken"] = {u.mistaken.taken, u.mistaken.known};
        put(unit, "apart", u.mistaken.channel);
        unit["apart_by"] = rounded(u.mistaken.channel_factor, 1);
        unit["contacts"] = u.contacts.contacts;
        list.push_back(std::move(unit));
    }
    return list;
}

}  // namespace subcrop::publish

#include "subcrop/infer/disputed_area.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <limits>

#include "infer/answer/reckoning.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::infer {

namespace {

std::string rounded_probability(double p) {
    if (p > 0.995) return "over 0.99";
    char text[8];
    std::snprintf(text, sizeof text, "%.2f", p);
    return text;
}

/// The area of a cluster, before it is clipped to its drawn unit.
MultiPolygon ground_of(const model::Survey& survey, const StopCluster& patch) {
    const Point centre = survey.stops[patch.stops.front()].position;
    double apart = 0;
    for (const std::uint32_t s : patch.stops) {
        double nearest = std::numeric_limits<double>::infinity();
        for (const std::uint32_t other : patch.stops) {
            const double d = distance(survey.stops[s].position, survey.stops[other].position);
            if (other != s && d > 0) nearest = std::min(nearest, d);
        }
        if (std::isfinite(nearest)) apart += nearest / static_cast<double>(patch.stops.size());
    }
    // Even if all stops are in one place, they represent some area.
    const double reach = std::max(patch.radius_m + apart / 2, survey.contact_sd_m);
    std::vector<Point> places;
    std::vector<std::uint8_t> chosen;
    std::vector<std::uint32_t> members = patch.stops;
    std::sort(members.begin(), members.end());
    for (std::uint32_t s = 0; s < survey.stops.size(); ++s) {
        if (distance(survey.stops[s].position, centre) > 3 * reach) continue;
        places.push_back(survey.stops[s].position);
        chosen.push_back(std::binary_search(members.begin(), members.end(), s));
    }
    return geo::nearer_ground(places, chosen, geo::circle(centre, reach));
}

}  // namespace

std::vector<DisputedArea> disputed_areas(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                         const Relocation& relocation) {
    std::vector<DisputedArea> result;
    std::vector<double> likelihood(survey.units.size());
    std::vector<model::MapPolygon> drafted_ground;
    if (!fit.clusters.empty() && !relocation.moved) drafted_ground = map.polygons();
    for (const StopCluster& patch : fit.clusters) {
        DisputedArea d;
        d.drafted = patch.drafted;
        d.like = patch.like;
        d.stops = patch.stops.size();
        d.probability = patch.probability;
        for (const std::uint32_t s : patch.stops) {
            d.middle.x += survey.stops[s].position.x / static_cast<double>(d.stops);
            d.middle.y += survey.stops[s].position.y / static_cast<double>(d.stops);
            fit.reckoning->soil_below(s, likelihood);
            fit.reckoning->add_rock_seen(s, likelihood);
            const double odds =
                likelihood[static_cast<std::size_t>(d.like)] - likelihood[static_cast<std::size_t>(d.drafted)];
            d.log10_odds += odds / std::log(10.0);
            d.stops_like += odds > 0;
            d.stops_rock_seen += survey.stops[s].unit_seen == d.like;
        }
        const MultiPolygon about = ground_of(survey, patch);
        Box box;
        for (const Polygon& polygon : about) box.add(box_of(polygon.shell));
        MultiPolygon drawn;
        for (const model::MapPolygon& polygon : relocation.moved ? relocation.units : drafted_ground)
            if (polygon.unit == d.drafted && meet(box, box_of(polygon.polygon.shell))) drawn.push_back(polygon.polygon);
        d.ground = geo::common_ground(about, drawn);
        for (const Polygon& polygon : d.ground) d.area_m2 += geo::area_m2(polygon);

        const std::string& drafted = survey.units[static_cast<std::size_t>(d.drafted)].code;
        const std::string& like = survey.units[static_cast<std::size_t>(d.like)].code;
        d.reason = "Of " + counted(d.stops, "stop", "stops") + " in an area drawn as " + drafted + ", " +
                   std::to_string(d.stops_like) + (d.stops_like == 1 ? " fits " : " fit ") + like +
                   " better by their notes";
        if (d.stops_rock_seen > 0)
            d.reason += ", and bedrock of " + like + " was observed at " + std::to_string(d.stops_rock_seen);
        d.reason += ". Moving contacts does not explain it. Perhaps an unmapped body of " + like + " (probability " +
                    rounded_probability(d.probability) + ").";
        result.push_back(std::move(d));
    }
    return result;
}

}  // namespace subcrop::infer

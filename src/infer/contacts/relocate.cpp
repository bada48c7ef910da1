#include "subcrop/infer/relocate.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "infer/answer/dispute_edges.hpp"
#include "infer/answer/moved_draft.hpp"
#include "infer/contacts/cut_edges.hpp"
#include "infer/statistics/normal.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::infer {

namespace {

/// Stops farther from a contact than this many standard errors (of position and contact together) are no evidence on
/// it.
constexpr double near_in_sd = 4;
constexpr double fits_from = 0.8;  ///< probability from which a stop fits a unit
constexpr std::uint32_t same_on_both_from = 3;
constexpr std::uint32_t concealed_from = 3;

/// Unit vector to the left of a line at a vertex.
Point left_normal(const Line& line, std::size_t i) {
    const bool closed = line.front() == line.back() && line.size() > 3;
    const std::size_t last = line.size() - 1;
    const Point from = i > 0 ? line[i - 1] : closed ? line[last - 1] : line[0];
    const Point to = i < last ? line[i + 1] : closed ? line[1] : line[last];
    const double dx = to.x - from.x, dy = to.y - from.y, length = std::hypot(dx, dy);
    return length > 0 ? Point{-dy / length, dx / length} : Point{};
}

/// Evidence of the stops near a contact on its two sides; side 0 is unit_a.
struct Sides {
    std::array<std::uint32_t, 2> fit_own{}, fit_across{}, fit_else{};
    std::array<double, 2> rock_within_m{1e300, 1e300};  ///< nearest observed bedrock of either unit
    std::uint32_t stops = 0, on_carried_soil = 0;
};

std::vector<Sides> look_at_sides(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                 unsigned threads) {
    struct Seat {
        std::uint32_t contact = 0;
        model::UnitIndex side = model::no_unit;
        double distance_m = -1;  ///< negative: no contact near
    };
    std::vector<Seat> seats(fit.stops.size());
    parallel_blocks(seats.size(), 1024, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t s = begin; s < end; ++s) {
            const model::Stop& stop = survey.stops[s];
            const StopFit& judged = fit.stops[s];
            const double near_m = near_in_sd * std::hypot(stop.position_sd_m, fit.contact_sd_m);
            if (fit.shift.field.still()) {  // as in the draft, which is known
                if (judged.contact_distance_m >= 0 && judged.contact_distance_m <= near_m)
                    seats[s] = {judged.nearest_contact, judged.mapped_unit, judged.contact_distance_m};
                continue;
            }
            const Point u = fit.shift.field.displacement(stop.position);
            const Point drafted{stop.position.x + u.x, stop.position.y + u.y};
            const auto nearest = map.nearest_contact(drafted, near_m);
            if (nearest) seats[s] = {nearest->contact, map.unit_at(drafted), nearest->distance_m};
        }
    });
    std::vector<Sides> sides(map.contacts().size());
    for (std::size_t s = 0; s < seats.size(); ++s) {
        if (seats[s].distance_m < 0) continue;
        const geo::Contact& contact = map.contacts()[seats[s].contact];
        Sides& here = sides[seats[s].contact];
        const StopFit& stop = fit.stops[s];
        ++here.stops;
        here.on_carried_soil += stop.p_transported > 0.5;
        const model::UnitIndex seen = survey.stops[s].unit_seen;
        for (const std::size_t k : {std::size_t{0}, std::size_t{1}}) {
            if (seen == (k == 0 ? contact.unit_a : contact.unit_b))
                here.rock_within_m[k] = std::min(here.rock_within_m[k], seats[s].distance_m);
        }
        if (seats[s].side != contact.unit_a && seats[s].side != contact.unit_b) continue;
        if (stop.fitted_unit == model::no_unit || stop.p_fitted < fits_from || stop.verdict == Verdict::no_evidence)
            continue;
        const std::size_t k = seats[s].side == contact.unit_a ? 0 : 1;
        const model::UnitIndex across = k == 0 ? contact.unit_b : contact.unit_a;
        ++(stop.fitted_unit == seats[s].side ? here.fit_own
           : stop.fitted_unit == across      ? here.fit_across
                                             : here.fit_else)[k];
    }
    return sides;
}

void classify(const model::Survey& survey, const Fit& fit, const geo::Contact& contact, const Sides& sides,
              RelocatedContact& result) {
    bool both_supported = true, same_on_both = false;
    for (const std::size_t k : {std::size_t{0}, std::size_t{1}}) {
        both_supported = both_supported && sides.fit_own[k] > sides.fit_across[k] + sides.fit_else[k];
        same_on_both =
            same_on_both || (sides.fit_across[k] >= same_on_both_from && sides.fit_across[k] > sides.fit_own[k]);
    }
    result.disputed = dispute_of(survey, fit, contact);
    if (result.disputed) result.stretches.clear();
    result.existence = same_on_both || result.disputed ? Confidence::questionable : Confidence::certain;
    result.identity = both_supported ? Confidence::certain : Confidence::questionable;

    const double zone_m = half_width_in_sd * survey.contact_sd_m;
    const double farther_m = std::max(sides.rock_within_m[0], sides.rock_within_m[1]);
    auto cover = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].cover; };
    if (farther_m < 1e300) {
        const bool within = farther_m <= zone_m && result.location_confidence_m <= zone_m * (1 + 1e-9);
        result.location = within ? LocationClass::accurate : LocationClass::approximate;
    } else if (!cover(contact.unit_a) && !cover(contact.unit_b) && sides.stops >= concealed_from &&
               2 * sides.on_carried_soil > sides.stops) {
        result.location = LocationClass::concealed;
    }
}

/// Moves one contact, and measures the shift and its error.
ContactShift move_contact(const geo::Contact& contact, const MovedDraft& ground, double step_m, double contact_sd_m,
                          RelocatedContact& result) {
    const Line drafted = cut_edges(contact.line, step_m);
    for (const Point p : drafted) result.line.push_back(ground.place(p));
    ContactShift shift;
    std::vector<double> shifts;
    double length = 0, variance = 0;
    Point mean;
    for (std::size_t i = 0; i < drafted.size(); ++i) {
        double weight = 0;
        if (i > 0) weight += distance(drafted[i - 1], drafted[i]) / 2;
        if (i + 1 < drafted.size()) weight += distance(drafted[i], drafted[i + 1]) / 2;
        const auto c = ground.covariance(drafted[i]);
        const Point n = left_normal(result.line, i);
        double along_normal = n.x * n.x * c[0] + 2 * n.x * n.y * c[1] + n.y * n.y * c[2];
        if (n == Point{}) along_normal = (c[0] + c[2]) / 2;
        const double sd = std::sqrt(std::max(along_normal, 1e-12));
        result.half_widths_m.push_back(half_width_in_sd * sd);
        Point towards_b = left_normal(drafted, i);
        if (contact.left == contact.unit_a) towards_b = {-towards_b.x, -towards_b.y};
        const double moved =
            (result.line[i].x - drafted[i].x) * towards_b.x + (result.line[i].y - drafted[i].y) * towards_b.y;
        shifts.push_back(moved);
        length += weight;
        variance += weight * sd * sd;
        shift.shift_m += weight * moved;
        shift.p_moved += weight * (normal_cdf((moved - contact_sd_m) / sd) + normal_cdf((-moved - contact_sd_m) / sd));
        mean.x += weight * moved * towards_b.x;
        mean.y += weight * moved * towards_b.y;
    }
    if (length > 0) {
        shift.shift_m /= length;
        shift.p_moved = std::clamp(shift.p_moved / length, 0.0, 1.0);
        shift.shift_sd_m = std::sqrt(variance / length);
        if (std::hypot(mean.x, mean.y) > 1e-6 * length) {
            const double azimuth = std::atan2(mean.x, mean.y) * 180 / std::numbers::pi;
            shift.azimuth_deg = azimuth < 0 ? azimuth + 360 : azimuth;
        }
    }
    result.location_confidence_m = half_width_in_sd * shift.shift_sd_m;
    result.stretches = moved_stretches(drafted, result.line, shifts, result.half_widths_m);
    return shift;
}

/// Edges that do not move are not cut, so that they stay as drafted.
Ring moved_ring(const Ring& ring, const MovedDraft& ground, double step_m) {
    Ring result{ground.place(ring.front())};
    for (std::size_t i = 1; i < ring.size(); ++i) {
        const Line drafted = cut_edges({ring[i - 1], ring[i]}, step_m);
        Line moved;
        for (const Point p : drafted) moved.push_back(ground.place(p));
        if (moved == drafted)
            result.push_back(ring[i]);
        else
            result.insert(result.end(), moved.begin() + 1, moved.end());
    }
    return result;
}

void move_polygons(const std::vector<model::MapPolygon>& drafted, const MovedDraft& ground, double step_m,
                   const std::string& source, unsigned threads, ProblemLog& problems, Relocation& relocation) {
    std::vector<std::vector<model::MapPolygon>> moved(drafted.size());
    auto move_ring = [&](const Ring& ring) { return moved_ring(ring, ground, step_m); };
    parallel_blocks(drafted.size(), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            model::MapPolygon polygon{drafted[i].unit, drafted[i].row, {move_ring(drafted[i].polygon.shell), {}}};
            for (const Ring& hole : drafted[i].polygon.holes) polygon.polygon.holes.push_back(move_ring(hole));
            if (geo::is_valid(polygon.polygon)) {
                moved[i].push_back(std::move(polygon));
                continue;
            }
            const Point at = polygon.polygon.shell.front();
            for (Polygon& part : geo::made_valid(polygon.polygon))
                moved[i].push_back({polygon.unit, polygon.row, std::move(part)});
            problems.add(
                {.severity = Severity::note,
                 .source = source,
                 .row = polygon.row,
                 .field = "geometry",
                 .value = {},
                 .message = "the polygon crossed itself after its contacts moved; it was repaired in revised_units",
                 .remedy = "Look at it there before use.",
                 .position = at});
        }
    });
    for (std::size_t i = 0; i < moved.size(); ++i) {
        for (model::MapPolygon& part : moved[i]) {
            relocation.units.push_back(std::move(part));
            relocation.drafted.push_back(i);
        }
    }
}

}  // namespace

std::string_view to_string(Confidence confidence) {
    return confidence == Confidence::certain ? "certain" : "questionable";
}

std::string_view description(Confidence confidence) {
    return confidence == Confidence::certain ? "Not in doubt" : "In doubt";
}

std::string_view to_string(LocationClass location) {
    switch (location) {
        case LocationClass::accurate:
            return "accurate";
        case LocationClass::approximate:
            return "approximate";
        case LocationClass::inferred:
            return "inferred";
        case LocationClass::concealed:
            return "concealed";
    }
    return {};
}

std::string_view description(LocationClass location) {
    switch (location) {
        case LocationClass::accurate:
            return "Bedrock of both units was observed close by; the contact lies within the map's stated zone";
        case LocationClass::approximate:
            return "Bedrock of both units was observed nearby; the contact may lie outside the map's stated zone";
        case LocationClass::inferred:
            return "Not observed; its place follows from soil and draft";
        case LocationClass::concealed:
            return "Not observed; most stops near it stand on transported soil, which covers it";
    }
    return {};
}

Relocation relocate(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, unsigned threads,
                    ProblemLog& problems) {
    const std::vector<geo::Contact>& contacts = map.contacts();
    const ShiftField& field = fit.shift.field;
    Relocation relocation;
    relocation.contacts.resize(contacts.size());
    const std::vector<Sides> sides = look_at_sides(survey, map, fit, threads);
    if (field.still()) {
        const double half_width_m = half_width_in_sd * fit.contact_sd_m;
        for (std::size_t i = 0; i < contacts.size(); ++i) {
            relocation.contacts[i].half_widths_m = {half_width_m};
            relocation.contacts[i].location_confidence_m = half_width_m;
            classify(survey, fit, contacts[i], sides[i], relocation.contacts[i]);
        }
        review_stretches(survey, map, fit, {}, relocation, threads);
        return relocation;
    }
    relocation.moved = true;
    Box stops;
    for (const model::Stop& stop : survey.stops) stops.add(stop.position);
    const MovedDraft ground(field, fit.contact_sd_m, survey.contact_sd_m, stops, map.extent(), threads);
    for (const Point p : ground.damped()) {
        problems.add({.severity = Severity::note,
                      .source = survey.map_source,
                      .row = {},
                      .field = {},
                      .value = {},
                      .message = "moving the contacts as the stops ask would fold the map here; they were moved less",
                      .remedy = "Look at the contacts here yourself, and note more stops.",
                      .position = p});
    }
    // Half the contact error is fine enough for a varying width, and no finer than the field's own bends.
    const double step_m = std::max(survey.contact_sd_m / 2, ground.step_m());
    relocation.shifts.resize(contacts.size());
    parallel_blocks(contacts.size(), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            relocation.shifts[i] =
                move_contact(contacts[i], ground, step_m, survey.contact_sd_m, relocation.contacts[i]);
            classify(survey, fit, contacts[i], sides[i], relocation.contacts[i]);
        }
    });
    review_stretches(survey, map, fit, {}, relocation, threads);
    move_polygons(map.polygons(), ground, step_m, survey.map_source, threads, problems, relocation);
    return relocation;
}

const Line& relocated_line(const Relocation& relocation, const geo::UnitMap& map, std::size_t contact) {
    return relocation.moved ? relocation.contacts[contact].line : map.contacts()[contact].line;
}

}  // namespace subcrop::infer

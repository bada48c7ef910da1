// The draft map with queries: the unit at a place, the nearest contact, and the probability of each unit given the
// errors of position and contacts.
//
//     UnitMap map(survey.map, survey.units.size(), {.contact_sd_m = 25, .source = survey.map_source}, problems);
//     model::UnitIndex unit = map.locate(p).unit;                            // no_unit when off the map
//     std::optional<NearestContact> nearest = map.nearest_contact(p, 1000);  // its distance, its index, its foot
//     map.membership(p, 30, shares);  // one probability a unit; sums to 1 on the map
//
// All queries are const and safe from many threads. They use a uniform grid of unique edges. If polygons overlap at a
// place, the answer says so. Cost on 100,000 polygons (13.3 M vertices): see tests/bench.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/contacts.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

struct UnitMapOptions {
    double contact_sd_m = 25;        ///< standard error of a drafted contact
    double edge_tolerance_m = 1e-6;  ///< nearer than this to a boundary is on the edge
    double sliver_width_m = 1;       ///< a gap or overlap narrower than this on average is called a sliver
    std::string source = {};         ///< for problems
    unsigned threads = 0;            ///< for building; 0: all
};

/// The polygons at a place.
struct Location {
    enum class Outcome : std::uint8_t {
        inside,   ///< in exactly one polygon
        on_edge,  ///< on the boundary of one or more polygons
        overlap,  ///< inside several polygons
        outside,  ///< in none
    };
    Outcome outcome = Outcome::outside;
    model::UnitIndex unit = model::no_unit;  ///< of the first polygon hit, in map order
    std::vector<std::uint32_t> polygons;     ///< every polygon hit, in map order; filled for on_edge and overlap only
};

struct NearestContact {
    double distance_m = 0;
    std::uint32_t contact = 0;  ///< index into UnitMap::contacts()
    Point foot;                 ///< nearest place on the contact
};

/// Units at several places together, in the places' order, and their joint probability.
struct JointUnits {
    std::vector<model::UnitIndex> units;  ///< no_unit: off the map
    double share = 0;
};

class UnitMap {
public:
    /// Gaps, slivers and overlaps between polygons become problems, each with a position inside
    /// it and its area.
    UnitMap(std::vector<model::MapPolygon> polygons, std::size_t unit_count, UnitMapOptions options,
            ProblemLog& problems);
    UnitMap(UnitMap&&) noexcept;
    UnitMap& operator=(UnitMap&&) noexcept;
    ~UnitMap();

    Location locate(Point place) const;
    /// As `locate`, but faster: only the unit of the first polygon hit.
    model::UnitIndex unit_at(Point place) const;
    /// Nearest contact between two different units within `reach_m`.
    std::optional<NearestContact> nearest_contact(Point place, double reach_m) const;
    /// Probability of each unit at a place. `sd_m`: isotropic Gaussian error of the position relative to the drawn
    /// contacts (position and contact error in quadrature). `shares` has one entry a unit; entries sum to the
    /// probability of being on the map at all. Fixed quadrature over the Gaussian; the error is under 0.01 beside a
    /// straight contact.
    void membership(Point place, double sd_m, std::span<double> shares) const;

    /// The same for several places that share one displacement as their error: every set of units that occurs. Shares
    /// sum to 1. Strips run along the normal of the boundary nearest to the first place.
    std::vector<JointUnits> joint_membership(std::span<const Point> places, double sd_m) const;

    const std::vector<Contact>& contacts() const;
    /// The polygons as given. They are assembled at each call, because the map stores them compactly.
    std::vector<model::MapPolygon> polygons() const;
    std::size_t polygon_count() const;
    /// One of them.
    model::MapPolygon polygon(std::size_t index) const;
    std::size_t unit_count() const;
    Box extent() const;
    /// Area of each unit, square metres.
    const std::vector<double>& unit_areas_m2() const;

private:
    friend class UnitAreas;  // works on the edges themselves
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END

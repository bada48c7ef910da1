// The differences between two maps of one place, area by area, and the map with some of them carried out.
//
//     MapChanges changes(draft, revised);
//     const ChangedArea& first = changes.areas()[0];  // land of unit first.from that the revised map gives to first.to
//     const std::vector<std::uint8_t> accepted{1, 0, 1};
//     std::vector<CarriedOut> next = changes.carried_out(draft, accepted);  // the draft with two of them
//
// The lines of both maps are cut once where they meet. An area is a connected set of faces that one map gives to `from`
// and the other to `to`. The resulting map takes its edges from these cuts, so polygons share them to the last bit.
// Polygons that no accepted area touches are unchanged, byte for byte. Cuts by areas that were not accepted leave no
// vertex in them. Places that one of the maps leaves empty are ignored, so the map's outer edge never changes.
//
// Not good at: polygons that overlap; the first of them keeps the common area. Cost: GEOS cuts the lines of polygons
// that differ, 4 us an edge; the rest is linear.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

struct ChangedArea {
    model::UnitIndex from = model::no_unit, to = model::no_unit;
    Polygon ground;
    double area_m2 = 0;
    Point inside;  ///< a place in it
};

/// Two areas that share a part of their boundary.
struct AreasBeside {
    std::uint32_t first = 0, second = 0;  ///< first < second
    double length_m = 0;
};

/// A polygon of the map with the accepted changes.
struct CarriedOut {
    model::MapPolygon polygon;         ///< `row`: of the largest part of the same unit; 0: none
    std::vector<std::uint32_t> areas;  ///< accepted areas in it
    double changed_m2 = 0;             ///< area that had another unit before
    bool as_it_was = true;             ///< one polygon of the first map, untouched
};

class MapChanges {
public:
    MapChanges() = default;
    /// Throws Error where GEOS fails.
    MapChanges(const std::vector<model::MapPolygon>& before, const std::vector<model::MapPolygon>& after);

    const std::vector<ChangedArea>& areas() const { return areas_; }
    const std::vector<AreasBeside>& beside() const { return beside_; }

    /// `accepted`: one an area, 0 or 1. In the order of the first map; new polygons come last. `before` is the first
    /// map.
    std::vector<CarriedOut> carried_out(const std::vector<model::MapPolygon>& before,
                                        std::span<const std::uint8_t> accepted) const;

private:
    struct Face {
        Polygon ground;
        double area_m2 = 0, perimeter_m = 0;
        std::uint32_t before = 0;  ///< polygon of the first map
        model::UnitIndex after = model::no_unit;
        std::uint32_t area = 0;  ///< none: both maps agree
    };
    struct Shared {
        std::uint32_t first = 0, second = 0;
        double length_m = 0;
    };

    void find_faces(const std::vector<model::MapPolygon>& before, const std::vector<model::MapPolygon>& after);
    void find_areas(const std::vector<model::MapPolygon>& before);
    std::uint32_t largest_of(std::span<const std::uint32_t> faces) const;
    template <class Sets>
    void give_rounding_away(Sets& together) const;

    std::vector<Face> faces_;
    std::vector<Shared> shared_;  ///< pairs of faces that share edges
    std::vector<ChangedArea> areas_;
    std::vector<AreasBeside> beside_;
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END

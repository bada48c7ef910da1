// The revised map: the draft with its contacts moved and areas of another unit drawn in.
//
//     RevisedMap whole = revise_map(survey, map, fit, relocation, threads);
//     Polygon polygon = polygon_of(whole.units[0], map);  // whose source, probability and changed_m2 stand in it
//
// It covers the whole map. Polygons that do not change stay the draft's, byte for byte. An area is drawn where
// `Answer::revision` favours another unit by AnswerSettings::change_odds. Grid cells are a quarter to one standard
// error s of the contacts wide. A small rest of a polygon joins the area if it favours the area's unit at all. Areas
// narrower than s or smaller than (2 s)^2 are not drawn. If observed bedrock calibrates the probabilities, a stop that
// fits a unit with more than 0.9 lies on it, within its position error. If needed, a minimal area is drawn around the
// stop. Cost: 5 us a cell near contacts and disputes, for at most 100,000 cells or 100 a stop, plus the time of
// geo/redraw.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Where a polygon of the revised map comes from.
enum class RevisedSource : std::uint8_t {
    as_drawn,       ///< as in the draft
    contact_moved,  ///< from the draft, with a moved contact
    area_redrawn,   ///< from the draft; part of it was given to another unit, or taken from one
    new_area,       ///< the draft has no polygon of this unit here
};
inline constexpr std::size_t revised_source_count = 4;
std::string_view to_string(RevisedSource source);
std::string_view description(RevisedSource source);

struct RevisedUnit {
    model::UnitIndex unit = model::no_unit;
    std::int64_t row = 0;     ///< row of the draft's polygon, of the largest if several became one; 0: new
    std::size_t drafted = 0;  ///< if `as_drawn`: its index in UnitMap::polygons()
    Polygon redrawn;          ///< its rings; empty if `as_drawn`, to save memory: see `polygon_of`
    RevisedSource source = RevisedSource::as_drawn;
    /// Not only by contacts that moved.
    bool of_redrawn_area() const { return source == RevisedSource::area_redrawn || source == RevisedSource::new_area; }
    double probability = -1;  ///< of its unit, mean over the polygon; below 0: not computed
    double area_m2 = 0;
    double changed_m2 = 0;  ///< part that the draft gives to another unit or to none
};

/// A contact that the draft does not have, or a part of one: of the outline of a redrawn area.
struct RedrawnContact {
    model::UnitIndex unit_a = model::no_unit;  ///< the lower index
    model::UnitIndex unit_b = model::no_unit;
    Line line;
    double half_width_m = 0;  ///< of its 90 % zone, root mean square along it
};

struct RevisedMap {
    std::vector<RevisedUnit> units;  ///< in the draft's order; new polygons come last
    /// Outlines of redrawn areas where they lie outside the 90 % zones of all drawn contacts between the same units.
    std::vector<RedrawnContact> contacts;
    double changed_m2 = 0;
    double area_m2 = 0;
};

/// `relocation`: the result of `relocate` for this fit. The result does not depend on `threads`.
RevisedMap revise_map(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                      const Relocation& relocation, unsigned threads);

/// The rings of a unit. `map`: the draft that was revised.
Polygon polygon_of(const RevisedUnit& unit, const geo::UnitMap& map);
/// All polygons, in the form that UnitMap is made from.
std::vector<model::MapPolygon> polygons_of(const RevisedMap& revised, const geo::UnitMap& map);

/// A first map in the same form; every polygon is new.
RevisedMap revised_map_of(const FirstMap& first);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

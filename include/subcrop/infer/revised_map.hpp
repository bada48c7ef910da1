// The whole map as everything noted has it: the draft, its contacts moved, areas of another unit drawn in.
//
//     RevisedMap whole = revise_map(survey, map, fit, relocation, threads);
//     Polygon polygon = polygon_of(whole.units[0], map);  // whose source, probability and changed_m2 stand in it
//
// Always the whole map, also where nothing changes; the draft's polygons are then there byte for byte. An area is drawn
// where `Answer::revision` favours another unit by AnswerSettings::change_odds. Cells: a quarter to one standard error
// of the contacts. Small rests of a polygon join the area if they favour its unit at all. Nothing narrower than that
// error is drawn, nor smaller than its double squared. If observed bedrock calibrates the probabilities, a stop that
// fits a unit with more than 0.9 lies on it, within its position error. If needed, a minimal area is drawn around it.
// Cost: 5 us a cell near contacts and disputes, 100,000 cells at most or 100 a stop, and what geo/redraw takes.
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
    contact_moved,  ///< of the draft, a contact of it moved
    area_redrawn,   ///< of the draft, part of it given to another unit or taken from one
    new_area,       ///< the draft has no polygon of this unit here
};
inline constexpr std::size_t revised_source_count = 4;
std::string_view to_string(RevisedSource source);
std::string_view description(RevisedSource source);

struct RevisedUnit {
    model::UnitIndex unit = model::no_unit;
    std::int64_t row = 0;     ///< of the draft's polygon, the largest where several became one; 0: new
    std::size_t drafted = 0;  ///< where it is `as_drawn`: which of UnitMap::polygons() it is
    Polygon redrawn;  ///< its rings; empty where it is `as_drawn`, so that no map is held twice: see `polygon_of`
    RevisedSource source = RevisedSource::as_drawn;
    double probability = -1;  ///< of its unit, mean over it; below 0: not asked
    double area_m2 = 0;
    double changed_m2 = 0;  ///< of it that the draft gives to another unit, or to none
};

/// A contact that the draft does not have, or a part of one: of the outline of a redrawn area.
struct RedrawnContact {
    model::UnitIndex unit_a = model::no_unit;  ///< the lower index
    model::UnitIndex unit_b = model::no_unit;
    Line line;
    double half_width_m = 0;  ///< of its 90 % zone, root mean square along it
};

struct RevisedMap {
    std::vector<RevisedUnit> units;  ///< in the draft's order; what is new comes last
    /// Outlines of redrawn areas where they lie outside the 90 % zones of all drawn contacts between the same units.
    std::vector<RedrawnContact> contacts;
    double changed_m2 = 0;
    double area_m2 = 0;
};

/// `relocation` as `relocate` has it for this fit. The result does not depend on `threads`.
RevisedMap revise_map(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                      const Relocation& relocation, unsigned threads);

/// Its rings. `map`: the draft that was revised.
Polygon polygon_of(const RevisedUnit& unit, const geo::UnitMap& map);
/// All of them, as a map is made of.
std::vector<model::MapPolygon> polygons_of(const RevisedMap& revised, const geo::UnitMap& map);

/// A first map in the same form: all of it new.
RevisedMap revised_map_of(const FirstMap& first);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

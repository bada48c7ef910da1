// The coordinate operations PROJ knows between two systems, looked at one by one. PROJ's own choice among them is not
// asked: an object with several candidates reports neither accuracy nor ballpark, and outside every area of use it
// falls back on a ballpark operation without a word.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "geo/crs_definition.hpp"
#include "geo/proj_handle.hpp"
#include "subcrop/core/geometry.hpp"

namespace subcrop::geo {

struct Operation {
    ProjObject object;  ///< x before y on both sides; null where it cannot be carried out here
    std::string name;
    std::optional<double> accuracy_m;  ///< 0 for pure projections, absent where PROJ knows none
    bool ballpark = false;
    bool shifts_datum = false;  ///< holds in its area of use only
    std::optional<DegreeBox> area;
    std::vector<std::string> missing_grids;

    /// Its area of use holds the place, by a degree's grace: published boxes follow borders, surveys do not.
    bool holds(double longitude, double latitude) const {
        return !shifts_datum || !area || area->holds(longitude, latitude, 1, 1);
    }
};

/// Operations that can be carried out, PROJ's best first, ballpark ones last; and apart those that lack a grid.
struct OperationChoice {
    std::vector<Operation> usable;
    std::vector<Operation> lacking_grids;
};
OperationChoice operations_between(PJ_CONTEXT* context, const PJ* from, const PJ* to,
                                   const std::optional<DegreeBox>& area);

/// Runs `points` through; failures come out as infinity.
void run(PJ* object, PJ_DIRECTION direction, std::span<Point> points);

/// Between a system and the degrees of the geographic system it is based on, without a datum shift.
class OwnDegrees {
public:
    OwnDegrees() = default;
    OwnDegrees(PJ_CONTEXT* context, const PJ* crs);

    void to_degrees(std::span<Point> points) const;
    void from_degrees(std::span<Point> points) const;
    OwnDegrees clone(PJ_CONTEXT* context) const;

private:
    ProjObject object_;            // null: PROJ knows no way, everything comes out as infinity
    double degrees_per_unit_ = 1;  // some geographic systems count in grads
};

/// Bounds, in the units of a projected system, of a box of degrees widened by the margins.
Box image_of(const OwnDegrees& degrees, const DegreeBox& area, double margin_longitude, double margin_latitude);

}  // namespace subcrop::geo

#include "geo/operations.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::geo {
namespace {

struct ListDeleter {
    void operator()(PJ_OBJ_LIST* list) const { proj_list_destroy(list); }
};
struct FactoryDeleter {
    void operator()(PJ_OPERATION_FACTORY_CONTEXT* factory) const { proj_operation_factory_context_destroy(factory); }
};

// A projection, its inverse or a chain of such: the datum stays.
bool pure_conversion(PJ_CONTEXT* context, const PJ* operation) {
    if (proj_get_type(operation) == PJ_TYPE_CONVERSION) return true;
    if (proj_get_type(operation) != PJ_TYPE_CONCATENATED_OPERATION) return false;
    const int steps = proj_concatoperation_get_step_count(context, operation);
    for (int i = 0; i < steps; ++i) {
        const ProjObject step(proj_concatoperation_get_step(context, operation, i));
        if (!step || !pure_conversion(context, step.get())) return false;
    }
    return steps > 0;
}

Operation describe(PJ_CONTEXT* context, ProjObject found) {
    Operation operation;
    operation.name = text_or_empty(proj_get_name(found.get()));
    operation.ballpark = proj_coordoperation_has_ballpark_transformation(context, found.get()) != 0;
    operation.shifts_datum = !pure_conversion(context, found.get());
    const double accuracy = proj_coordoperation_get_accuracy(context, found.get());
    if (!operation.shifts_datum) {
        operation.accuracy_m = 0;
    } else if (accuracy >= 0 && !operation.ballpark) {
        operation.accuracy_m = accuracy;
    }
    DegreeBox area;
    if (proj_get_area_of_use(context, found.get(), &area.west, &area.south, &area.east, &area.north, nullptr) &&
        area.west > -1000) {
        operation.area = area;
    }
    const int grids = proj_coordoperation_get_grid_used_count(context, found.get());
    for (int i = 0; i < grids; ++i) {
        const char* name = nullptr;
        int available = 0;
        if (proj_coordoperation_get_grid_used(context, found.get(), i, &name, nullptr, nullptr, nullptr, nullptr,
                                              nullptr, &available) &&
            !available && name) {
            operation.missing_grids.emplace_back(name);
        }
    }
    if (proj_coordoperation_is_instantiable(context, found.get())) {
        operation.object.reset(proj_normalize_for_visualization(context, found.get()));
    }
    return operation;
}

std::vector<Operation> enumerate(PJ_CONTEXT* context, const PJ* from, const PJ* to,
                                 const std::optional<DegreeBox>& area, PROJ_GRID_AVAILABILITY_USE grids,
                                 PROJ_INTERMEDIATE_CRS_USE intermediate) {
    const std::unique_ptr<PJ_OPERATION_FACTORY_CONTEXT, FactoryDeleter> factory(
        proj_create_operation_factory_context(context, nullptr));
    if (area) {
        proj_operation_factory_context_set_area_of_interest(context, factory.get(), area->west, area->south, area->east,
                                                            area->north);
    }
    proj_operation_factory_context_set_spatial_criterion(context, factory.get(),
                                                         PROJ_SPATIAL_CRITERION_PARTIAL_INTERSECTION);
    proj_operation_factory_context_set_grid_availability_use(context, factory.get(), grids);
    proj_operation_factory_context_set_allow_use_intermediate_crs(context, factory.get(), intermediate);
    const std::unique_ptr<PJ_OBJ_LIST, ListDeleter> list(proj_create_operations(context, from, to, factory.get()));
    std::vector<Operation> found;
    const int count = list ? proj_list_get_count(list.get()) : 0;
    for (int i = 0; i < count; ++i) {
        if (ProjObject one{proj_list_get(context, list.get(), i)}) found.push_back(describe(context, std::move(one)));
    }
    return found;
}

}  // namespace

OperationChoice operations_between(PJ_CONTEXT* context, const PJ* from, const PJ* to,
                                   const std::optional<DegreeBox>& area) {
    OperationChoice choice;
    const auto take_usable = [&](PROJ_INTERMEDIATE_CRS_USE intermediate) {
        choice.usable =
            enumerate(context, from, to, area, PROJ_GRID_AVAILABILITY_DISCARD_OPERATION_IF_MISSING_GRID, intermediate);
        std::erase_if(choice.usable, [](const Operation& o) { return !o.object; });
        return std::any_of(choice.usable.begin(), choice.usable.end(), [](const Operation& o) { return !o.ballpark; });
    };
    // By way of a third system only where nothing leads straight across.
    if (!take_usable(PROJ_INTERMEDIATE_CRS_USE_IF_NO_DIRECT_TRANSFORMATION)) {
        take_usable(PROJ_INTERMEDIATE_CRS_USE_ALWAYS);
    }
    std::stable_partition(choice.usable.begin(), choice.usable.end(), [](const Operation& o) { return !o.ballpark; });
    // Where the datum stays no grid could better it; the search is slow.
    if (!choice.usable.empty() && !choice.usable.front().shifts_datum) return choice;
    choice.lacking_grids = enumerate(context, from, to, area, PROJ_GRID_AVAILABILITY_IGNORED,
                                     PROJ_INTERMEDIATE_CRS_USE_IF_NO_DIRECT_TRANSFORMATION);
    std::erase_if(choice.lacking_grids, [](const Operation& o) { return o.missing_grids.empty() || o.ballpark; });
    return choice;
}

OwnDegrees::OwnDegrees(PJ_CONTEXT* context, const PJ* crs) {
    ProjObject base;
    if (proj_get_type(crs) == PJ_TYPE_BOUND_CRS) {
        base.reset(proj_get_source_crs(context, crs));
        if (base) crs = base.get();
    }
    const ProjObject geodetic(proj_crs_get_geodetic_crs(context, crs));
    if (!geodetic) return;
    const ProjObject axes(proj_crs_get_coordinate_system(context, geodetic.get()));
    double radians_per_unit = 0;
    if (axes && proj_cs_get_axis_info(context, axes.get(), 0, nullptr, nullptr, nullptr, &radians_per_unit, nullptr,
                                      nullptr, nullptr)) {
        degrees_per_unit_ = radians_per_unit * 57.295779513082321;
    }
    const ProjObject operation(proj_create_crs_to_crs_from_pj(context, crs, geodetic.get(), nullptr, nullptr));
    if (operation) object_.reset(proj_normalize_for_visualization(context, operation.get()));
}

void OwnDegrees::to_degrees(std::span<Point> points) const {
    run(object_.get(), PJ_FWD, points);
    for (Point& p : points) p = {p.x * degrees_per_unit_, p.y * degrees_per_unit_};
}

void OwnDegrees::from_degrees(std::span<Point> points) const {
    for (Point& p : points) p = {p.x / degrees_per_unit_, p.y / degrees_per_unit_};
    run(object_.get(), PJ_INV, points);
}

OwnDegrees OwnDegrees::clone(PJ_CONTEXT* context) const {
    OwnDegrees copy;
    if (object_) copy.object_.reset(proj_clone(context, object_.get()));
    copy.degrees_per_unit_ = degrees_per_unit_;
    return copy;
}

void run(PJ* object, PJ_DIRECTION direction, std::span<Point> points) {
    if (points.empty()) return;
    if (!object) {
        std::fill(points.begin(), points.end(), Point{HUGE_VAL, HUGE_VAL});
        return;
    }
    proj_errno_reset(object);
    proj_trans_generic(object, direction, &points[0].x, sizeof(Point), points.size(), &points[0].y, sizeof(Point),
                       points.size(), nullptr, 0, 0, nullptr, 0, 0);
}

Box image_of(const OwnDegrees& degrees, const DegreeBox& area, double margin_longitude, double margin_latitude) {
    constexpr int steps = 48;
    const double width = std::min(
        360.0, (area.west <= area.east ? area.east - area.west : area.east - area.west + 360) + 2 * margin_longitude);
    const double south = std::max(-90.0, area.south - margin_latitude),
                 north = std::min(90.0, area.north + margin_latitude);
    std::vector<Point> lattice;
    for (int i = 0; i <= steps; ++i) {
        for (int j = 0; j <= steps; ++j) {
            lattice.push_back({area.west - margin_longitude + width * i / steps, south + (north - south) * j / steps});
        }
    }
    degrees.from_degrees(lattice);
    Box box;
    for (const Point p : lattice) {
        if (std::isfinite(p.x) && std::isfinite(p.y)) box.add(p);
    }
    // Between the lattice's points the image may bulge a little.
    const double bulge = 0.02 * std::max(box.width(), box.height());
    box.add(Point{box.min_x - bulge, box.min_y - bulge});
    box.add(Point{box.max_x + bulge, box.max_y + bulge});
    return box;
}

}  // namespace subcrop::geo

#include "subcrop/geo/unit_map.hpp"

#include <algorithm>
#include <cassert>
#include <utility>

#include "geo/contacts.hpp"
#include "geo/coverage_check.hpp"
#include "geo/unit_map_state.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::geo {

UnitMap::UnitMap(std::vector<model::MapPolygon> polygons, std::size_t unit_count, UnitMapOptions options,
                 ProblemLog& problems)
    : state_(std::make_unique<State>()) {
    State& s = *state_;
    s.unit_count = unit_count;
    s.options = std::move(options);
    s.table = EdgeTable(polygons, s.options.edge_tolerance_m);
    s.polygons = PolygonStore(std::move(polygons), s.table,
                              s.options.threads);  // before the contacts, which take the room they leave
    s.contacts = build_contacts(s.polygons, s.table, s.contact_of_edge);
    s.table.forget_pieces();
    s.coverage = Coverage(s.table, s.options.edge_tolerance_m, s.options.threads);
    const std::vector<Edge>& edges = s.table.edges();
    s.divides.resize(edges.size());
    for (EdgeIndex i = 0; i < edges.size(); ++i) {
        const Edge& edge = edges[i];
        s.divides[i] = edge.open() || s.table.crowded(i) || s.polygons.unit(edge.left) != s.polygons.unit(edge.right);
    }
    // Three that have nothing to do with one another.
    parallel_blocks(3, 1, s.options.threads, [&](std::size_t task, std::size_t, unsigned) {
        if (task == 0) s.overlapping = report_gaps_and_overlaps(s.polygons, s.table, s.coverage, s.options, problems);
        if (task == 1)
            s.contact_search =
                NearestEdgeSearch(s.coverage.grid(), [&](EdgeIndex i) { return s.contact_of_edge[i] != none; });
        if (task == 2)
            s.divide_search = NearestEdgeSearch(s.coverage.grid(), [&](EdgeIndex i) { return s.divides[i] != 0; });
    });
    s.unit_areas.assign(unit_count, 0.0);
    for (PolygonIndex i = 0; i < s.polygons.size(); ++i) {
        const model::UnitIndex unit = s.polygons.unit(i);
        if (unit == model::no_unit) continue;
        assert(static_cast<std::size_t>(unit) < unit_count);
        s.unit_areas[static_cast<std::size_t>(unit)] += s.table.areas()[i];
    }
}

UnitMap::UnitMap(UnitMap&&) noexcept = default;
UnitMap& UnitMap::operator=(UnitMap&&) noexcept = default;
UnitMap::~UnitMap() = default;

Location UnitMap::locate(Point place) const {
    const State& s = *state_;
    CoverSet cover;
    s.coverage.cover(place, cover);
    Location location;
    std::vector<PolygonIndex> touched;
    if (s.coverage.touching(place, touched)) {
        for (const PolygonIndex polygon : cover.sorted()) touched.push_back(polygon);
        std::sort(touched.begin(), touched.end());
        touched.erase(std::unique(touched.begin(), touched.end()), touched.end());
        location.outcome = Location::Outcome::on_edge;
        location.unit = s.polygons.unit(touched.front());
        location.polygons = std::move(touched);
        return location;
    }
    location.unit = s.unit_of(cover);
    if (cover.size() == 1) location.outcome = Location::Outcome::inside;
    if (cover.size() > 1) {
        location.outcome = Location::Outcome::overlap;
        location.polygons = cover.sorted();
    }
    return location;
}

model::UnitIndex UnitMap::unit_at(Point place) const {
    const State& s = *state_;
    if (s.coverage.on_edge(place)) return locate(place).unit;
    CoverSet cover;
    s.coverage.cover(place, cover);
    return s.unit_of(cover);
}

std::optional<NearestContact> UnitMap::nearest_contact(Point place, double reach_m) const {
    const State& s = *state_;
    const auto contact = [&](EdgeIndex i) { return s.contact_of_edge[i]; };
    const auto nearest = s.contact_search.find(
        s.coverage.grid(), s.table.edges(), place, reach_m, [&](EdgeIndex i) { return contact(i) != none; }, contact);
    if (!nearest) return std::nullopt;
    return NearestContact{std::sqrt(nearest->foot.squared_distance), contact(nearest->edge), nearest->foot.place};
}

const std::vector<Contact>& UnitMap::contacts() const { return state_->contacts; }
std::vector<model::MapPolygon> UnitMap::polygons() const {
    const PolygonStore& store = state_->polygons;
    std::vector<model::MapPolygon> polygons;
    polygons.reserve(store.size());
    for (std::size_t i = 0; i < store.size(); ++i) polygons.push_back(polygon(i));
    return polygons;
}
std::size_t UnitMap::polygon_count() const { return state_->polygons.size(); }
model::MapPolygon UnitMap::polygon(std::size_t index) const {
    const PolygonStore& store = state_->polygons;
    const auto i = static_cast<PolygonIndex>(index);
    return {store.unit(i), store.row(i), store.polygon(i, state_->table)};
}
std::size_t UnitMap::unit_count() const { return state_->unit_count; }
Box UnitMap::extent() const { return state_->table.extent(); }
const std::vector<double>& UnitMap::unit_areas_m2() const { return state_->unit_areas; }

}  // namespace subcrop::geo

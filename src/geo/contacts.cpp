#include "geo/contacts.hpp"

#include <algorithm>
#include <span>

namespace subcrop::geo {

std::vector<Contact> build_contacts(const PolygonStore& polygons, const EdgeTable& table,
                                    std::vector<std::uint32_t>& contact_of_edge) {
    const std::vector<Edge>& edges = table.edges();
    contact_of_edge.assign(edges.size(), none);
    std::vector<Contact> contacts;
    std::vector<EdgeIndex> along;
    std::vector<PolygonIndex> across;
    polygons.for_each_ring([&](PolygonIndex polygon, std::size_t number, std::span<const EdgeIndex> uses) {
        table.ring_edges(polygon, number, uses, along);
        const model::UnitIndex unit = polygons.unit(polygon);
        // The polygon across each edge where a contact runs there that no earlier polygon has given, else none.
        across.clear();
        for (const EdgeIndex index : along) {
            const Edge& edge = edges[index];
            const PolygonIndex other = edge.left == polygon ? edge.right : edge.left;
            const model::UnitIndex beyond = other == none ? model::no_unit : polygons.unit(other);
            const bool contact = other != none && other > polygon && beyond != unit && beyond != model::no_unit &&
                                 unit != model::no_unit;
            across.push_back(contact ? other : none);
        }
        const std::size_t count = along.size();
        if (count == 0) return;
        // Begin where the neighbour changes, so that no contact is cut at the ring's own start.
        std::size_t start = 0;
        while (start < count && across[start] == across[(start + count - 1) % count]) ++start;
        if (start == count) start = 0;
        // The corner shared with the edge before; a ring has three edges or more, so it is one point.
        const auto first_end = [&](std::size_t i) {
            const Edge& edge = edges[along[i]];
            const Edge& previous = edges[along[(i + count - 1) % count]];
            return edge.a == previous.a || edge.a == previous.b ? edge.a : edge.b;
        };
        for (std::size_t step = 0; step < count;) {
            const std::size_t i = (start + step) % count;
            const PolygonIndex other = across[i];
            if (other == none) {
                ++step;
                continue;
            }
            Contact contact;
            contact.unit_a = std::min(unit, polygons.unit(other));
            contact.unit_b = std::max(unit, polygons.unit(other));
            contact.left = table.interior_left(number) ? unit : polygons.unit(other);
            Point at = first_end(i);
            contact.line.push_back(at);
            for (; step < count; ++step) {
                const std::size_t k = (start + step) % count;
                if (across[k] != other) break;
                const Edge& edge = edges[along[k]];
                const Point to = edge.a == at ? edge.b : edge.a;
                contact.length_m += distance(at, to);
                contact.line.push_back(to);
                contact_of_edge[along[k]] = static_cast<std::uint32_t>(contacts.size());
                at = to;
            }
            contact.line.shrink_to_fit();
            contacts.push_back(std::move(contact));
        }
    });
    return contacts;
}

}  // namespace subcrop::geo

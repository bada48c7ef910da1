// Building contacts from the matched edges.
#pragma once

#include <vector>

#include "geo/edge_table.hpp"
#include "geo/polygon_store.hpp"
#include "subcrop/geo/contacts.hpp"

namespace subcrop::geo {

/// Contacts in the order of the first of their polygons in the map, then along its rings; `line` runs with that ring.
/// `contact_of_edge` gets one entry an edge: its contact or `none`.
std::vector<Contact> build_contacts(const PolygonStore& polygons, const EdgeTable& table,
                                    std::vector<std::uint32_t>& contact_of_edge);

}  // namespace subcrop::geo

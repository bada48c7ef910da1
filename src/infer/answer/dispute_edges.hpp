// Contacts at the edge of a disputed area. If the area on one side of a contact is disputed and looks like the unit
// across, the contact exists only if the dispute is wrong.
#pragma once

#include <cstddef>
#include <optional>

#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/stop_cluster.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

/// Whether a contact of these two units vanishes if the dispute is right.
bool divides(const StopCluster& patch, model::UnitIndex a, model::UnitIndex b);

/// Whether the disputed area reaches a place on a contact: one of its stops is near.
bool reaches(const model::Survey& survey, const StopCluster& patch, Point place);

/// Index in Fit::clusters of the first that reaches at least half of the contact's length, and whose two units the
/// contact divides.
std::optional<std::size_t> dispute_of(const model::Survey& survey, const Fit& fit, const geo::Contact& contact);

}  // namespace subcrop::infer

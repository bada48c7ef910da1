// How the soils of two units differ, in everyday words: "clay, grey, soft rush: Pm; sand, orange, heather: Os".
#pragma once

#include <string>
#include <string_view>

#include "subcrop/field/munsell.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

/// "grey", "orange", "dark reddish brown": a coarse name of our own for a moist soil colour.
std::string plain_colour(const field::Munsell& colour);

/// The commonest notes of each unit, if they differ between the two; empty if nothing differs.
std::string look_for(const model::Survey& survey, const infer::UnitSummary& a, const infer::UnitSummary& b);

}  // namespace subcrop::publish

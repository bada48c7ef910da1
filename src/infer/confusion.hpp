// Which units the soil alone takes for one another, and what tells them apart.
#pragma once

#include <vector>

#include "reckoning.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {

/// One a unit. Known stops are the judges of the reckoning (rock seen, or far from contacts), as held-out skill has them.
std::vector<Confusion> confusions(const Fit::Reckoning& reckoning);

}  // namespace subcrop::infer

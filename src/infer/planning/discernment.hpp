// How well the soil has told units apart so far: what a visit is worth.
#pragma once

#include <cstddef>
#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

/// How the soil has told two units apart at the stops where either is drafted or was seen.
struct Discernment {
    double mean = 0;                   ///< of ((E_a - E_b) / (E_a + E_b))^2, observed bedrock at these stops included
    std::size_t right = 0, stops = 0;  ///< stops at which the right one of the two came out likelier

    /// Probability that a visit names the right one of the two: a channel that is wrong as often both ways has the
    /// square (2 p - 1)^2.
    double right_share() const;
};

class Discernments {
public:
    Discernments(const model::Survey& survey, const Fit& fit);
    /// Pairs with fewer than five stops borrow the mean of all.
    const Discernment& between(model::UnitIndex a, model::UnitIndex b) const;

private:
    std::size_t units_;
    std::vector<Discernment> pairs_;  ///< units x units
};

}  // namespace subcrop::infer

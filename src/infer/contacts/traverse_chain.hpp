// The hidden Markov chain along one traverse: the unit below each stop, given all stops.
#pragma once

#include <cstddef>
#include <vector>

#include "infer/statistics/hidden_markov.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

/// Parameters common to the chains of all traverses.
struct TraverseSetting {
    std::vector<double> shares;     ///< share of each unit in the map area
    std::vector<double> adjacency;  ///< units x units: probability of the next unit, given a change
    double lambda_m = 0;            ///< mean distance between changes of unit
};

/// `walked_m`: length of all traverses. `crossings`: changes of unit on them in the draft.
TraverseSetting survey_setting(const model::Survey& survey, const geo::UnitMap& map, double walked_m,
                               std::size_t crossings);

/// One traverse: its line, chainages and the draft's crossings.
struct TraverseLine {
    Line line;
    std::vector<double> chainage;
    std::vector<MappedCrossing> mapped;
};

TraverseLine lay_out(const model::Survey& survey, const geo::UnitMap& map, const Traverse& traverse);

/// The chain of one traverse. It has two states for each unit. In one the draft is right, up to the errors of position
/// and contact. In the other the draft has a single error and tells nothing. So a missing body is one error of the
/// draft, not one at each stop.
class TraverseChain {
public:
    TraverseChain(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Traverse& traverse,
                  const TraverseLine& course, const TraverseSetting& ground);

    std::size_t units() const { return units_; }
    std::size_t stops() const { return count_; }

    model::UnitIndex most_probable(std::size_t stop) const;
    /// Probability of a unit at a stop.
    double probability(std::size_t stop, model::UnitIndex unit) const;
    /// Probability of this change of unit in a gap.
    double change(std::size_t gap, model::UnitIndex from, model::UnitIndex to) const;

private:
    std::size_t units_;
    std::size_t count_;
    std::vector<double> prior_;  ///< stops x units: the draft's membership
    HiddenMarkov markov_;
};

}  // namespace subcrop::infer

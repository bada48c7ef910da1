// What is known about each contact's place before the next visit, and how well soil distinguishes its two units.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "infer/answer/reckoning.hpp"
#include "infer/planning/contact_process.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/relocate.hpp"

namespace subcrop::infer {

/// How well soil distinguished two units, at stops where either is drafted or observed.
struct Discernment {
    double mean = 0;                   ///< of ((E_a - E_b) / (E_a + E_b))^2, observed bedrock at these stops included
    std::size_t right = 0, stops = 0;  ///< stops at which the right one of the two was more probable
};

class ContactKnowledge {
public:
    /// Only the 5,000 longest contacts are used; the others have little to gain. If `stated_reach_m` or
    /// `stated_right_share` is absent, it is found as `reach_m` and `right_share` say.
    ContactKnowledge(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
                     unsigned threads, std::optional<double> stated_reach_m = std::nullopt,
                     std::optional<double> stated_right_share = std::nullopt);

    struct Known {
        std::size_t contact = 0;  ///< index into UnitMap::contacts()
        model::UnitIndex left = model::no_unit, right = model::no_unit;
        ContactProcess process;
    };
    std::vector<Known> contacts;  ///< in the order of UnitMap::contacts()
    /// Correlation length of the error along a contact: the shift field's, if one was adopted. Else the geometric mean
    /// of two limits. The lower limit is the stated error: with a shorter length contacts would cross themselves. The
    /// upper limit is the mean length of a contact: with a longer one contacts would move as a whole. Between the two,
    /// all magnitudes are equally plausible.
    double reach_m = 0;
    /// The share of the contacts' stretches that are exactly right as they now are, learnt from the stops beside them.
    /// 0 without a draft.
    double right_share = 0;

    const Discernment& between(model::UnitIndex a, model::UnitIndex b) const;
    /// Turns the ln likelihoods of a stop's units into likelihoods of the two sides, with the draft's error share mixed
    /// in.
    std::pair<double, double> sides(const Known& known, std::span<const double> log_likelihood) const;

private:
    void compare_units(const Fit& fit);
    void learn_right_share(std::optional<double> stated);

    const model::Survey* survey_;
    std::vector<double> ground_;             ///< share of each unit
    std::vector<Discernment> discernments_;  ///< units x units
};

}  // namespace subcrop::infer

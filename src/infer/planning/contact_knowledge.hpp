// What is known of every contact's place before the next visit, and how well the soil tells its two units apart.
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

/// How the soil has told two units apart at the stops where either is drafted or was seen.
struct Discernment {
    double mean = 0;                   ///< of ((E_a - E_b) / (E_a + E_b))^2, observed bedrock at these stops included
    std::size_t right = 0, stops = 0;  ///< stops at which the right one of the two came out likelier
};

class ContactKnowledge {
public:
    /// Contacts not among the 5,000 longest are left out: they hold little to gain.
    /// `stated_reach_m`: absent, as `reach_m` says. `stated_right_share`: absent, as `right_share` says.
    ContactKnowledge(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
                     unsigned threads, std::optional<double> stated_reach_m = std::nullopt,
                     std::optional<double> stated_right_share = std::nullopt);

    struct Known {
        std::size_t contact = 0;  ///< index into UnitMap::contacts()
        model::UnitIndex left = model::no_unit, right = model::no_unit;
        ContactProcess process;
    };
    std::vector<Known> contacts;  ///< in the order of UnitMap::contacts()
    /// Along a contact within which its error is alike: a field's, where one was adopted. Else the geometric mean of
    /// the stated error (were it shorter, contacts would cross themselves) and the mean length of a contact (were it
    /// longer, contacts would move as a whole): between the two nothing is known beforehand, and all magnitudes are
    /// alike.
    double reach_m = 0;
    /// The share of the contacts' stretches that are simply right as they now run, learnt from the stops beside them; 0
    /// where there is no draft.
    double right_share = 0;

    const Discernment& between(model::UnitIndex a, model::UnitIndex b) const;
    /// Ln likelihoods of a stop over the units as likelihoods of the two sides, the draft's error share mixed in.
    std::pair<double, double> sides(const Known& known, std::span<const double> log_likelihood) const;

private:
    void compare_units(const Fit& fit);
    void learn_right_share(std::optional<double> stated);

    const model::Survey* survey_;
    std::vector<double> ground_;             ///< share of each unit
    std::vector<Discernment> discernments_;  ///< units x units
};

}  // namespace subcrop::infer

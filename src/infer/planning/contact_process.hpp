// Where a contact really runs beside its line: a smooth Gaussian process of the offset to the left, narrowed by stops.
//
//     ContactProcess contact(line, {.reach_m = 320}, {40});
//     contact.hear(3, 25, 10, 0.9, 0.1);    // 25 m to the left of node 3 the soil speaks 9 to 1 for the unit on the
//     left contact.mean_m(3), contact.sd_m(3)    // the contact lies to the right of that stop, and better known
//     contact.gain_m2(5, 10, 0.6)           // what a visit to node 5 would narrow
//
// Prior: standard deviation as given, correlation exp(-d^2 / 2 H^2) in the distance d along the line. A stop with its
// foot at node i, t to the left of the line, has the likelihood E_r + (E_l - E_r) Phi((t - d_i) / s_p), s_p the error
// of its position: its moments against the normal of d_i are in closed form, and what they do to d_i the rest follows
// linearly (assumed-density filtering; for one stop the moments are exact).
//
// With `right_share` above 0 stretches of the contact may also be simply right: these run along the line, and the
// process holds for the rest. Each stop moves the odds of the two by its likelihood under either, at its own node in
// full and farther off by the correlation above as an exponent (a stop says little of a stretch far away). The estimate
// is the mean of their mixture, so that a contact which is probably right moves little whatever one stop says of it.
// (Its median, which does not move at all while the odds are even, left nothing worth a visit.)
//
// Not good at: what one contact says of another that meets it, contacts that do not exist, offsets beyond the bends of
// the line.
#pragma once

#include <cstddef>
#include <span>
#include <utility>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::infer {

struct ContactProcessOptions {
    double reach_m = 0;              ///< H
    std::size_t nodes_in_reach = 4;  ///< nodes are H over this apart
    std::size_t max_nodes = 80;      ///< farther where the contact is very long
    double right_share = 0;          ///< prior probability that a stretch of the contact is simply right
    double right_within_m = 5;       ///< what 'right' is: standard deviation about the line
};

class ContactProcess {
public:
    struct Node {
        Point place;
        Point left;           ///< unit vector to the left of the line
        double length_m = 0;  ///< of the contact for which it stands
    };

    /// `sd_m`: prior standard deviation at each vertex of the line, or a single one.
    ContactProcess(const Line& line, const ContactProcessOptions& options, std::span<const double> sd_m);

    const std::vector<Node>& nodes() const { return nodes_; }
    /// Of the process: where the contact runs if it is not simply right.
    double mean_m(std::size_t node) const { return mean_[node]; }
    double sd_m(std::size_t node) const;
    /// Probability that the contact is simply right at a node.
    double right(std::size_t node) const { return right_[node]; }
    void set_right(std::size_t node, double probability) { right_[node] = probability; }
    /// Offset of the best estimate from the line, to the left.
    double estimate_m(std::size_t node) const { return (1 - right_[node]) * mean_[node]; }
    /// Where the contact most probably runs.
    Point place(std::size_t node) const;
    /// The node whose stretch holds the foot of a place, and how far to the left of the line the place lies.
    std::pair<std::size_t, double> seat(Point place) const;

    /// A stop `offset_m` to the left of a node, with the likelihood of its notes over the unit on either side.
    void hear(std::size_t node, double offset_m, double position_sd_m, double likelihood_left, double likelihood_right);

    /// Ground by which a stop at the estimate is expected to narrow the contact's mean absolute error, taken as that of
    /// a normal of the same variance: the fall of that error, over the length, as a mean over what the stop may find.
    /// `discernment`: mean over stops of ((E_l - E_r) / (E_l + E_r))^2.
    double gain_m2(std::size_t node, double position_sd_m, double discernment) const;
    /// Narrows it as such a visit is expected to, wherever it then lies.
    void plan(std::size_t node, double position_sd_m, double discernment);

private:
    double narrowing(std::size_t node, double position_sd_m, double discernment) const;
    /// Mean distance of the contact from its estimate, taken as that of a normal of the mixture's variance.
    static double error(double mean, double sd, double right);
    /// What a stop does to the process: its evidence, and first and second derivative of ln(evidence) in the mean.
    struct Heard {
        double evidence = 0, slope = 0, bend = 0;
        double evidence_if_right = 0;
        double total(double right) const { return right * evidence_if_right + (1 - right) * evidence; }
    };
    Heard listen(std::size_t node, double offset_m, double position_sd_m, double likelihood_left,
                 double likelihood_right) const;

    /// Probability that node j is right after node i heard that.
    double right_after(std::size_t i, std::size_t j, const Heard& heard) const;
    double& covariance(std::size_t i, std::size_t j) { return covariance_[i * nodes_.size() + j]; }
    double covariance(std::size_t i, std::size_t j) const { return covariance_[i * nodes_.size() + j]; }

    Line line_;
    std::vector<Node> nodes_;
    std::vector<double> along_;  ///< chainage of each node
    std::vector<double> mean_, covariance_;
    std::vector<double> right_;
    double right_within_m_, reach_m_;
};

}  // namespace subcrop::infer

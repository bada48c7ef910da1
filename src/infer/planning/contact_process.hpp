// The true place of a contact: a smooth Gaussian process of its offset to the left of the line, narrowed by stops.
//
//     ContactProcess contact(line, {.reach_m = 320}, {40});
//     contact.hear(3, 25, 10, 0.9, 0.1);  // 25 m left of node 3 the soil supports the left unit by 9 to 1
//     contact.mean_m(3), contact.sd_m(3)  // the contact is now to the right of that stop, and better located
//     contact.gain_m2(5, 10, 0.6)         // area expected to be corrected by a visit to node 5
//
// Prior: the given standard deviation, correlation exp(-d^2 / 2 H^2) in the distance d along the line. Take a stop with
// foot at node i, t to the left of the line. Its likelihood is E_r + (E_l - E_r) Phi((t - d_i) / s_p), with s_p the
// error of its position. Its moments with the normal density of d_i have a closed form. The other nodes follow d_i
// linearly (assumed-density filtering; for one stop the moments are exact).
//
// With `right_share` above 0 a stretch of the contact may also be exactly right. It then follows the line; the process
// holds otherwise. Each stop multiplies the odds of the two cases by its likelihood ratio: in full at its own node,
// elsewhere with the correlation above as exponent (a stop tells little about a stretch far away). The estimate is the
// mean of the mixture. So a contact that is probably right moves little, whatever one stop says. (The median does not
// move while the odds are even; with it no visit was worth while.)
//
// Not good at: what one contact tells about another that meets it, contacts that do not exist, offsets larger than the
// bends of the line.
#pragma once

#include <cstddef>
#include <span>
#include <utility>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::infer {

struct ContactProcessOptions {
    double reach_m = 0;              ///< H
    std::size_t nodes_in_reach = 4;  ///< distance of nodes: H divided by this
    std::size_t max_nodes = 80;      ///< nodes are farther apart if the contact is very long
    double right_share = 0;          ///< prior probability that a stretch of the contact is exactly right
    double right_within_m = 5;       ///< the meaning of 'right': standard deviation about the line
};

class ContactProcess {
public:
    struct Node {
        Point place;
        Point left;           ///< unit vector to the left of the line
        double length_m = 0;  ///< length of contact that the node represents
    };

    /// `sd_m`: prior standard deviation at each vertex of the line, or a single one.
    ContactProcess(const Line& line, const ContactProcessOptions& options, std::span<const double> sd_m);

    const std::vector<Node>& nodes() const { return nodes_; }
    /// Of the process, that is, if the contact is not exactly right.
    double mean_m(std::size_t node) const { return mean_[node]; }
    double sd_m(std::size_t node) const;
    /// Probability that the contact is exactly right at a node.
    double right(std::size_t node) const { return right_[node]; }
    void set_right(std::size_t node, double probability) { right_[node] = probability; }
    /// Offset of the best estimate from the line, to the left.
    double estimate_m(std::size_t node) const { return (1 - right_[node]) * mean_[node]; }
    /// The most probable place of the contact.
    Point place(std::size_t node) const;
    /// The node whose stretch contains the foot of a place, and the distance of the place to the left of the line.
    std::pair<std::size_t, double> seat(Point place) const;

    /// Adds a stop `offset_m` to the left of a node, with the likelihood of its notes for the unit on either side.
    void hear(std::size_t node, double offset_m, double position_sd_m, double likelihood_left, double likelihood_right);

    /// Area expected to be corrected by a stop at the estimate. It is the expected fall of the contact's mean absolute
    /// error, times the length, averaged over the possible findings of the stop. The error is that of a normal with the
    /// same variance. `discernment`: mean over stops of ((E_l - E_r) / (E_l + E_r))^2.
    double gain_m2(std::size_t node, double position_sd_m, double discernment) const;
    /// Narrows the process as such a visit is expected to, without moving it.
    void plan(std::size_t node, double position_sd_m, double discernment);

private:
    double narrowing(std::size_t node, double position_sd_m, double discernment) const;
    /// Mean distance of the contact from its estimate, as for a normal with the mixture's variance.
    static double error(double mean, double sd, double right);
    /// Effect of a stop on the process: its evidence, and first and second derivative of ln(evidence) by the mean.
    struct Heard {
        double evidence = 0, slope = 0, bend = 0;
        double evidence_if_right = 0;
        double total(double right) const { return right * evidence_if_right + (1 - right) * evidence; }
    };
    Heard listen(std::size_t node, double offset_m, double position_sd_m, double likelihood_left,
                 double likelihood_right) const;

    /// Probability that node j is right after that stop at node i.
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

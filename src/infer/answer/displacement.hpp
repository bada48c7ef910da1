// The displacement of the draft, fitted to the evidence of the stops, and draws from its posterior.
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "infer/answer/blurred_draft.hpp"
#include "infer/answer/displacement_basis.hpp"
#include "infer/answer/testimony.hpp"
#include "subcrop/geo/contact_traces.hpp"
#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {

struct DisplacementOptions {
    double amplitude_m = 0;                       ///< A: standard deviation of the displacement along each axis
    double reach_m = 0;                           ///< H: correlation length
    double longer_share = 0.5;                    ///< share of the variance with twice the reach
    double residual_m = 0;                        ///< blur of contacts that remains after moving
    double error_share = 0.01;                    ///< share of the area where the draft has single errors
    std::vector<double> shares;                   ///< share of each unit in the area; sums to 1
    std::span<const geo::ContactTrace> traces{};  ///< where contacts run if they follow the beds
};

/// Places at which the draft is sampled for each stop. This is its own place. If its position is uncertain, places
/// around it; if its soil crept, places upslope. Computed once for all fits.
class Seats {
public:
    /// `usual_position_sd_m` is already part of the blur of the draft. `blends`: for soil that crept, the places it
    /// came from.
    Seats(const Testimony& testimony, double usual_position_sd_m, bool blends);
    /// Groups (parts of a blend) are averaged in ln likelihood, places of a group in shares.
    struct Seat {
        std::uint32_t first_place, places_of_group, groups;
    };
    Seat of(std::size_t i) const { return seats_[i]; }
    const Point& place(std::size_t number) const { return places_[number]; }

private:
    std::vector<Seat> seats_;
    std::vector<Point> places_;
};

/// Basis functions of the displacement at each stop. Computed once for all fits with one reach.
class StopBumps {
public:
    StopBumps(const Testimony& testimony, double reach_m, double longer_share, unsigned threads);

    const Box& box() const { return box_; }
    const DisplacementBasis& basis() const { return basis_; }
    /// Node and value of each bump at a stop, sorted by node.
    std::span<const std::uint32_t> nodes(std::size_t stop) const {
        return {node_.data() + first_[stop], node_.data() + first_[stop + 1]};
    }
    std::span<const double> values(std::size_t stop) const {
        return {value_.data() + first_[stop], value_.data() + first_[stop + 1]};
    }

private:
    Box box_;  ///< of the stops
    DisplacementBasis basis_;
    std::vector<std::size_t> first_;  ///< first entry of each stop, and the end
    std::vector<std::uint32_t> node_;
    std::vector<double> value_;
};

/// Median of the stops' position errors. The draft is blurred by it too.
double usual_position_sd(const Testimony& testimony);

/// ln likelihood of a stop if the draft is displaced by u: sum over units of the draft's share times `likelihood`, plus
/// the part of single errors. `pooled`: sum over units of `shares` times `likelihood`.
double log_likelihood(const BlurredDraft::Layer& layer, const Seats& seats, std::size_t stop, Point u,
                      const float* likelihood, double pooled, double error_share, Point* slope);

/// Fits the field by L-BFGS; the draft is first blurred widely, then less. Its covariance is by Laplace's method, with
/// outer products of the stops' gradients. `likelihood`: stops x units. `learns`: empty, or not 0 for stops to learn
/// from.
ShiftField fit_displacement(const Testimony& testimony, const Seats& seats, const StopBumps& bumps,
                            const std::vector<float>& likelihood, BlurredDraft& draft,
                            const DisplacementOptions& options, std::span<const std::uint8_t> learns, unsigned threads);
/// ln likelihood ratio of the beds' traces: this displacement against the draft as drawn. 0 without traces.
double trace_evidence(const Testimony& testimony, const DisplacementOptions& options);
/// Computes the layers that a fit needs, so that several fits can share the draft.
void make_layers(BlurredDraft& draft, const DisplacementOptions& options, double usual_position_sd_m);

/// Displacements drawn from the posterior, in pairs symmetric about its mode.
class FewDraws {
public:
    FewDraws(const ShiftField& field, std::size_t count, std::uint64_t seed);
    std::size_t count() const { return 2 * static_cast<std::size_t>(noise_.cols()); }
    /// One displacement for each draw. Cost: 0.2 us a draw.
    void at(const ShiftField& field, Point place, std::span<Point> draws) const;

private:
    Eigen::MatrixXd noise_;  ///< difference from the mode, one column for each pair
};

/// The same on a lattice of step reach/8, for thousands of places.
class DisplacementDraws {
public:
    DisplacementDraws() = default;
    DisplacementDraws(const ShiftField& field, std::size_t count, std::uint64_t seed, unsigned threads);

    std::size_t count() const { return count_; }
    /// One displacement for each draw. Returns their weight, 0 to 1: the field's `trust`, and 0 beyond its reach. The
    /// rest of the weight is for the draft as drawn.
    double at(Point place, std::span<Point> draws) const;

private:
    std::size_t count_ = 0;
    double west_ = 0, south_ = 0, spacing_m_ = 1;
    std::size_t columns_ = 0, rows_ = 0;
    std::vector<float> values_;  ///< nodes x draws x 2
    std::vector<float> trust_;   ///< one for each node
};

}  // namespace subcrop::infer

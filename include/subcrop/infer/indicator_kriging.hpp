// The unit at a place, from bedrock observed at others: simple kriging of unit indicators, one variogram model for all
// units.
//
//     Variogram model = fit_variogram(unit_variogram(seen, cutoff_m, 15));
//     IndicatorKriging kriging(seen, units, model);
//     kriging.probabilities({x, y}, shares);  // one a unit, sums to 1
//
// Indicators, and why one model is enough: Journel 1983, Mathematical Geology 15:445-468 (from memory). Results below 0
// or above 1 are clipped, then scaled to sum to 1 (common practice). The means are the units' shares among the stops,
// with one stop added to each unit. Not good at: placing a contact between distant stops, and areas beyond the range,
// where the result is just the shares. Cost of a place: the cube of `max_neighbours`.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <memory>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/stop.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Bedrock observed at a place.
struct SeenRock {
    Point place;
    model::UnitIndex unit = model::no_unit;
};

/// Share of pairs of stops at about one distance that lie on different units: the sum of the units' semivariances.
struct VariogramBin {
    std::size_t pairs = 0;
    double distance_m = 0;  ///< mean over the pairs
    double gamma = 0;
};

/// Spherical model: nugget + sill (1.5 h / range - 0.5 (h / range)^3), both at and beyond the range, 0 at 0.
struct Variogram {
    double nugget = 0;
    double sill = 1;  ///< without the nugget
    double range_m = 1;
    double at(double distance_m) const;
    /// Whether places within the range are more alike than far ones. False if all is nugget, or if the range is shorter
    /// than the distance of the nearest pairs.
    bool shows_range(std::span<const VariogramBin> bins) const;
    /// Weighted sum of squared residuals of the bins; see fit_variogram.
    double misfit(std::span<const VariogramBin> bins) const;
};

/// Pairs up to `cutoff_m` in `bins` bins of equal width. Empty bins are left out. Pairs at one place go to the first
/// bin.
std::vector<VariogramBin> unit_variogram(std::span<const SeenRock> seen, double cutoff_m, std::size_t bins);

/// Least squares with weights pairs / distance^2 (Cressie 1985, Mathematical Geology 17:563-586, from memory).
/// Nugget and sill are at least 0, the range at most the farthest bin. Without bins: a sill of 1 and a range of 1 m.
Variogram fit_variogram(std::span<const VariogramBin> bins);

class IndicatorKriging {
public:
    static constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

    IndicatorKriging(std::vector<SeenRock> seen, std::size_t units, const Variogram& model,
                     std::size_t max_neighbours = 48);

    /// For places where the unit is uncertain. `values`: places x units, probabilities. `noise`: one for each place,
    /// the variance about them summed over the units; 0 where bedrock was observed.
    IndicatorKriging(std::vector<Point> places, std::vector<double> values, std::vector<double> noise,
                     std::vector<double> shares, const Variogram& model, std::size_t max_neighbours = 48);

    /// Probability of each unit at the place, without the stop `left_out`. Safe from many threads.
    void probabilities(Point place, std::span<double> result, std::size_t left_out = none) const;
    /// The same before clipping.
    void estimates(Point place, std::span<double> result, std::size_t left_out = none) const;
    const std::vector<double>& shares() const { return shares_; }
    /// Replaces the means (by default the units' shares).
    void set_shares(std::vector<double> shares) { shares_ = std::move(shares); }

private:
    std::vector<Point> places_;
    std::vector<double> values_;
    std::vector<double> noise_;
    std::vector<double> shares_;
    Variogram model_;
    std::size_t max_neighbours_;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

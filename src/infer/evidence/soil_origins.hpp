// What lies below each stop and what its soil came from, by the draft alone.
//
// The soil of a stop at x is a blend in equal parts of the soils of n places x_i up its slope
// (model::CreepPaths::soil_from). The truth is the draft displaced by one error u, common to all these places. So the
// draft gives the joint probability J(k, j) of the unit k below the stop and the units j_1 ... j_n that its soil came
// from. With f_j the density of soil on unit j, a blend has
//     f(j_1 ... j_n) = Z f_j1^(1/n) ... f_jn^(1/n),    ln Z = sum over i < m of d2(j_i, j_m) / 2 n^2,
// which is exact for Gaussians with one covariance. The blend's mean is then the mean of their means; d2 is the squared
// distance of two means in standard deviations. d2 is learnt from the stops: for two such Gaussians the mean of ln f_a
// - ln f_b over soils of a is d2 / 2. So
//     P(soil, k below) = (1 - e) sum over j of J(k, j) f(j) + e q_k f_k.
// The first term is a blend, if the draft is right up to its error. The second is k's own soil, if the draft has a
// single error there (a share e of the area; the patch is taken to cover the whole path). Divided by the prior, (1 - e)
// J(k) + e q_k, this is the likelihood of k below the stop. So some soil of j on k is expected just below a contact
// with j, but not far from any j.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/geo/creep.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/separation.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

struct Origin {
    model::UnitIndex below = model::no_unit;
    std::array<model::UnitIndex, geo::soil_parts> sources{};  ///< sorted
    float share = 0;
};

class SoilOrigins {
public:
    /// Nowhere has soil moved.
    SoilOrigins() = default;
    /// One list for each stop. Empty: its soil lies where it formed, or came from the stop's own unit.
    explicit SoilOrigins(std::span<const std::vector<Origin>> origins);

    /// Shares sum to the probability of being on the map; a source off the map counts as the stop's own unit.
    std::span<const Origin> of(std::size_t stop) const {
        if (first_.empty()) return {};
        return {origins_.data() + first_[stop], origins_.data() + first_[stop + 1]};
    }
    bool empty() const { return origins_.empty(); }

private:
    std::vector<std::uint32_t> first_;
    std::vector<Origin> origins_;
};

/// J for soil from `sources`, with the draft displaced by `shift` and an error of `sd_m`.
std::vector<Origin> all_origins(const geo::UnitMap& map, Point place, std::span<const Point> sources, Point shift,
                                double sd_m);
/// Whether some of the soil comes from another unit than the one below.
bool from_another_unit(std::span<const Origin> origins);
/// As `all_origins`; empty if all soil comes from the unit below.
std::vector<Origin> joint_origins(const geo::UnitMap& map, Point place, std::span<const Point> sources, Point shift,
                                  double sd_m);

/// ln density of a blend, from the ln densities of the units' soils.
double log_blend(const Origin& origin, const Separation& separation, std::span<const double> log_likelihood);

/// Turns the ln likelihood of the soil's unit into that of the unit below the stop, in place. `ground`: share of each
/// unit; `error`: e.
void likelihood_below(std::span<const Origin> origins, const Separation& separation, std::span<const double> ground,
                      double error, std::span<double> log_likelihood);

}  // namespace subcrop::infer

// What a Fit keeps to answer for itself: channels, signatures and weights.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "infer/answer/stop_shares.hpp"
#include "infer/evidence/soil_origins.hpp"
#include "subcrop/core/export.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/signature.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// By which soil counts beside that of neighbouring stops: soils resemble one another beyond what their unit explains.
inline constexpr double neighbours_repeat = 0.5;

/// Share of a stop's evidence lost to soil carried from elsewhere: what was noted about its origin beyond the general
/// possibility. The latter stands at every stop alike and is already in the signatures' tails and the weights; counting
/// it again would cap all evidence at about six to one.
double carried_beyond_doubt(const model::Reduced& reduced, std::size_t stop);

/// Probability that rock seen is named `named` where it is truly of another unit or of that one. Wrong names fall to
/// the other units as common as these are: were all alike, rock of a rare unit would be taken for a slip however
/// plainly it was seen. `ground`: share of each unit, all above 0.
double chance_of_name(std::size_t named, std::size_t truly, std::span<const double> ground, double certainty);

struct Fit::Reckoning {
    const model::Survey* survey = nullptr;
    const model::Reduced* reduced = nullptr;
    std::vector<Channel> channels;
    std::vector<Signature> signatures;
    std::vector<double> weights;
    std::vector<double> ground;                ///< share of each unit in the map's ground
    SoilOrigins origins;                       ///< where creep has brought soil of another unit
    Separation separation;                     ///< of the units' soils, for its blends
    const model::CreepPaths* creep = nullptr;  ///< followed; null: soil lies where it formed
    double own_share = 1;                      ///< by which a stop's own soil counts
    double contact_sd_m = 0;                   ///< standard error of drafted contacts: learnt, or as stated
    StopShares placed;                         ///< probability of each unit from the draft alone
    /// Stops x units: probability of each unit before the stop's own soil and bedrock, by draft and stops about it.
    /// Empty where the draft alone tells: see `prior_of`.
    std::vector<float> prior;
    // what the weights were learnt by
    Judges judges;
    std::vector<std::uint16_t> fold_of_stop;
    std::vector<double> log_shares;

    /// By which what the channel says at the stop is multiplied.
    double weight(std::size_t channel) const { return weights[channel] * own_share; }
    std::size_t units() const { return survey->units.size(); }
    /// Probability of each unit before the stop's own soil and bedrock.
    void prior_of(std::size_t stop, std::span<double> p) const;
    bool cover(model::UnitIndex unit) const { return survey->units[static_cast<std::size_t>(unit)].cover; }

    /// True where some channel has a value or rock was seen.
    bool has_evidence(std::size_t stop) const;
    /// ln likelihood of each unit relative to their average, all channels weighted, transported soil discounted; the
    /// rock seen is not part of it.
    void soil(std::size_t stop, std::span<double> log_likelihood) const;
    /// Places up the slope from which the soil of a stop came; empty: its own.
    std::span<const Point> soil_from(std::size_t stop) const {
        return creep != nullptr ? std::span<const Point>(creep->soil_from[stop]) : std::span<const Point>();
    }
    /// The same for the unit below the stop, where its soil may have crept from another: see soil_origins.hpp.
    void soil_below(std::size_t stop, std::span<double> log_likelihood) const;
    /// Units from which the stop's soil came, with their shares; `membership`: the draft's at the stop. Rock seen
    /// stands for what is below.
    void soil_shares(std::size_t stop, std::span<const float> membership, std::span<double> shares) const;
    /// Probability of each unit below the stop, given everything: `prior`, its own soil and the bedrock observed. In
    /// `log_likelihood` what soil and bedrock say.
    void posterior(std::size_t stop, std::span<double> log_likelihood, std::span<double> p) const;
    /// Soil, tempered by `neighbours_repeat`, and bedrock observed, relative to the best unit.
    void tempered_log_likelihood(std::size_t stop, std::span<double> log_likelihood) const;
    /// What rock seen adds to each unit's ln likelihood; zeros where none was seen. Where it was named wrongly, it was
    /// so for a common unit more often than for a rare one.
    void add_rock_seen(std::size_t stop, std::span<double> log_likelihood) const;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

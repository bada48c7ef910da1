// What a Fit stores for later questions: channels, signatures and weights.
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

/// Weight of a stop's soil when it is combined with neighbouring stops. Neighbouring soils are more alike than their
/// unit explains.
inline constexpr double neighbours_repeat = 0.5;

/// Probability that a stop's soil was transported, as far as its notes raise it above the general probability. The
/// general probability is the same at every stop, and the signatures' tails and the weights already include it. If it
/// counted again, no evidence could exceed about six to one.
double carried_beyond_doubt(const model::Reduced& reduced, std::size_t stop);

/// Probability that observed bedrock is named `named` if its true unit is `truly`. Wrong names are distributed by the
/// shares of the other units. With equal probabilities, observed bedrock of a rare unit would always look like a
/// mistake. `ground`: share of each unit, all above 0.
double chance_of_name(std::size_t named, std::size_t truly, std::span<const double> ground, double certainty);

struct Fit::Reckoning {
    const model::Survey* survey = nullptr;
    const model::Reduced* reduced = nullptr;
    std::vector<Channel> channels;
    std::vector<Signature> signatures;
    std::vector<double> weights;
    std::vector<double> ground;                ///< share of each unit in the map area
    SoilOrigins origins;                       ///< where creep brought soil of another unit
    Separation separation;                     ///< of the units' soils, for blends
    const model::CreepPaths* creep = nullptr;  ///< the creep paths; null: soil lies where it formed
    double own_share = 1;                      ///< weight of a stop's own soil
    double contact_sd_m = 0;                   ///< standard error of drafted contacts: learnt, else stated
    StopShares placed;                         ///< probability of each unit from the draft alone
    /// Stops x units: probability of each unit by the draft and the stops around, before the stop's own soil and
    /// bedrock. Empty if only the draft is used: see `prior_of`.
    std::vector<float> prior;
    // how the weights were learnt
    Judges judges;
    std::vector<std::uint16_t> fold_of_stop;
    std::vector<double> log_shares;

    /// Factor of the channel's ln likelihood.
    double weight(std::size_t channel) const { return weights[channel] * own_share; }
    std::size_t units() const { return survey->units.size(); }
    /// Probability of each unit before the stop's own soil and bedrock.
    void prior_of(std::size_t stop, std::span<double> p) const;
    bool cover(model::UnitIndex unit) const { return survey->units[static_cast<std::size_t>(unit)].cover; }

    /// True if any channel has a value or bedrock was observed.
    bool has_evidence(std::size_t stop) const;
    /// ln likelihood of each unit relative to the units' average: the weighted sum of all channels, discounted for
    /// transported soil. Observed bedrock is not included.
    void soil(std::size_t stop, std::span<double> log_likelihood) const;
    /// Places upslope from which the soil of a stop came; empty: its own place.
    std::span<const Point> soil_from(std::size_t stop) const {
        return creep != nullptr ? std::span<const Point>(creep->soil_from[stop]) : std::span<const Point>();
    }
    /// As `soil`, but for the unit below the stop, whose soil may have crept from another unit: see soil_origins.hpp.
    void soil_below(std::size_t stop, std::span<double> log_likelihood) const;
    /// Shares of the units from which the stop's soil came. `membership`: the draft's, at the stop. If bedrock was
    /// observed, it is the unit below.
    void soil_shares(std::size_t stop, std::span<const float> membership, std::span<double> shares) const;
    /// Posterior probability of each unit below the stop, from `prior`, its own soil and observed bedrock.
    /// `log_likelihood` gets the evidence of soil and bedrock.
    void posterior(std::size_t stop, std::span<double> log_likelihood, std::span<double> p) const;
    /// Likelihoods of soil (tempered by `neighbours_repeat`) and observed bedrock, relative to the best unit.
    void tempered_log_likelihood(std::size_t stop, std::span<double> log_likelihood) const;
    /// What observed bedrock adds to each unit's ln likelihood; zeros if none was observed. A wrong name is more often
    /// a common unit than a rare one.
    void add_rock_seen(std::size_t stop, std::span<double> log_likelihood) const;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

// What a Fit keeps to answer for itself: channels, signatures and weights.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "soil_origins.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/signature.hpp"

namespace subcrop::infer {

/// Once a field has moved contacts by what neighbours' soil says, a stop's own soil repeats in part what moved them: neighbouring
/// soils resemble one another beyond what their unit explains. Taken by half it ranks wrong stops better and flags fewer
/// right ones (tests/bench/jura_shift: false discoveries 0.15 instead of 0.21 with rock seen at a tenth of the stops).
inline constexpr double neighbours_repeat = 0.5;

/// Share of a stop's evidence lost to soil carried from elsewhere: what was noted about its origin beyond the general
/// possibility. The latter stands at every stop alike and is already in the signatures' tails and the weights; counting it
/// again would cap all evidence at about six to one.
double carried_beyond_doubt(const model::Reduced& reduced, std::size_t stop);

/// Probability that rock seen is named `named` where it is truly of another unit or of that one. Wrong names fall to the other
/// units as common as these are: were all alike, rock of a rare unit would be taken for a slip however plainly it was seen.
/// `ground`: share of each unit, all above 0.
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
    std::vector<float> own_share;              ///< by which a stop's own soil counts; empty: in full
    // what the weights were learnt by
    Judges judges;
    std::vector<std::uint16_t> fold_of_stop;
    std::vector<double> log_shares;

    /// By which what the channel says at the stop is multiplied.
    double weight(std::size_t channel, std::size_t stop) const {
        return weights[channel] * (own_share.empty() ? 1 : static_cast<double>(own_share[stop]));
    }
    std::size_t units() const { return survey->units.size(); }
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
    /// What a stop testifies to the shift field, soil and rock seen, relative to its best unit.
    void witness_log_likelihood(std::size_t stop, std::span<double> log_likelihood) const;
    /// What rock seen adds to each unit's ln likelihood; zeros where none was seen. Where it was named wrongly, it was so for
    /// a common unit more often than for a rare one.
    void add_rock_seen(std::size_t stop, std::span<double> log_likelihood) const;
};

}  // namespace subcrop::infer

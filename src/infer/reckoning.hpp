// What a Fit keeps to answer for itself: channels, signatures and weights.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

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

struct Fit::Reckoning {
    const model::Survey* survey = nullptr;
    const model::Reduced* reduced = nullptr;
    std::vector<Channel> channels;
    std::vector<Signature> signatures;
    std::vector<double> weights;
    // what the weights were learnt by
    Judges judges;
    std::vector<double> log_shares;

    std::size_t units() const { return survey->units.size(); }
    bool cover(model::UnitIndex unit) const { return survey->units[static_cast<std::size_t>(unit)].cover; }

    /// True where some channel has a value or rock was seen.
    bool has_evidence(std::size_t stop) const;
    /// ln likelihood of each unit relative to their average, all channels weighted, transported soil discounted; the
    /// rock seen is not part of it.
    void soil(std::size_t stop, std::span<double> log_likelihood) const;
    /// What a stop testifies to the shift field, soil and rock seen, relative to its best unit.
    void witness_log_likelihood(std::size_t stop, std::span<double> log_likelihood) const;
    /// What rock seen adds to each unit's ln likelihood; zeros where none was seen.
    void add_rock_seen(std::size_t stop, std::span<double> log_likelihood) const;
};

}  // namespace subcrop::infer

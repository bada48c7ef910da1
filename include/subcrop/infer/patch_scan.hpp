// A spatial scan for ground whose drafted unit is wrong as a whole: bunches of neighbouring stops of one drafted unit that all
// speak for another (after Kulldorff 1997, Communications in Statistics 26:1481-1496, from memory; the statistic is ours).
//
//     PatchScan scan = scan_patches(evidence, options, threads);
//     scan.patches[0].stops               // those of the likeliest bunch, if there is one
//     scan.p_patch(stop)                  // that the stop stands on such ground
//
// A circle is a stop with its nearest 1, 2, ... `most_stops` of the same drafted unit. Its statistic is the best other unit's sum
// of ln likelihoods over the draft's, divided by n^0.35 so that large circles do not win by size alone.
// Significance is against a draft that is wrong in single places only: soils change places among the stops of one drafted
// unit, rock seen is dealt anew, contrary at a stated rate. The greatest statistic is taken as Gumbel distributed (Abrams,
// Kulldorff and Kleinman 2010, International Journal of Health Geographics 9:61, from memory), with Sidak's correction for the
// units tested. Neighbouring soils resemble one another, which dealing them out does not know: observed sums of soil are
// therefore drawn towards their mean by the root of the inflation that circles of eight stops show over dealt ones.
// The probability of a stop averages over all circles about it, each as likely before the evidence as the next. A bunch is
// named where neighbours are each likely to stand on one (0.8), most by their own notes, and together sure to (0.9), or where it is significant and probable. Significance alone is a blunt tool: where
// rock may be contrary in single places chance shows plain bunches, and soils of a large patch, dealt out, look like chance themselves.
//
// Not good at: soil alone, where soils differ little between units; it then finds nothing. Patches of one or two stops.
// Cost: stops x most_stops x units, and the same for every permutation, of which there are fewer the more stops there are.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::infer {

/// What each stop says, relative to the draft.
struct PatchEvidence {
    std::size_t units = 0;
    std::vector<Point> places;
    std::vector<model::UnitIndex> drafted;  ///< after contacts have moved; no_unit: takes no part
    /// Stops x units: ln likelihood of the unit, over that of the draft with the errors of its contacts.
    std::vector<float> log_ratio;
    std::vector<std::uint8_t> rock_seen;    ///< not 0: the row tells of rock, not of soil
    std::vector<double> ground;             ///< share of each unit, all above 0; sums to 1
};

struct PatchScanOptions {
    std::size_t most_stops = 24;      ///< in a circle
    std::size_t least_stops = 3;      ///< in a bunch worth a name
    double size_exponent = 0.35;
    double share = 0.025;             ///< of ground drafted wrong as a whole, before the evidence
    double sure_probability = 0.9;    ///< mean over a bunch's stops from which it is named, whatever its significance
    double significance = 0.05;
    double least_probability = 0.5;   ///< mean over a bunch's stops below which it is not named, however significant
    double single_errors = 0.05;      ///< chance that rock seen is contrary to a draft that is right as a whole
    double rock_certainty = 0.98;     ///< that rock seen was named rightly
    std::size_t permutations = 199;   ///< at most; so many that stops x permutations stay below 2,000,000, but 19
    std::uint64_t seed = 1;
};

/// A bunch of stops that no error of contacts explains.
struct StopPatch {
    model::UnitIndex drafted = model::no_unit;
    model::UnitIndex like = model::no_unit;  ///< the unit they look like
    std::vector<std::uint32_t> stops;        ///< the one nearest their middle first, then by distance from it
    double statistic = -1e300;               ///< of the circle it was found by, or the plainest about its stops
    double p = 1;                            ///< its significance, all units tested taken into account
    double radius_m = 0;
    double probability = 0;                  ///< that the ground is drafted wrong as a whole, mean over its stops
};

struct PatchScan {
    std::vector<StopPatch> patches;  ///< no stop in two, the most probable first
    std::size_t units = 0;
    /// Stops x units: probability that the stop stands on ground drafted wrong as a whole that is truly of this unit.
    std::vector<float> probability;

    bool empty() const { return probability.empty(); }
    double p_patch(std::size_t stop) const;
};

/// The result does not depend on `threads`.
PatchScan scan_patches(const PatchEvidence& evidence, const PatchScanOptions& options, unsigned threads);

/// The statistic of one circle whose stops have these rows of `log_ratio` (n x units): the best unit other than `drafted`.
double patch_statistic(std::span<const float> rows, std::size_t units, model::UnitIndex drafted, double size_exponent);

}  // namespace subcrop::infer

// Which mapped unit each stop best fits, and why.
//
//     Fit fit = fit_stops(survey, reduced, map, problems, progress, threads);
//     fit.stops[i].verdict                       // agrees, conflicts, ...
//     fit.reason(i)                              // one plain sentence
//     fit.evidence(i, EvidenceRows::top)         // the reckoning, channel by channel
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/geo/contact_traces.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/answer.hpp"
#include "subcrop/infer/shift_choice.hpp"
#include "subcrop/infer/stop_cluster.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

enum class Verdict : std::uint8_t {
    agrees,           ///< soil and draft speak for the same unit
    conflicts,        ///< flagged: the draft is probably wrong here, at the false discovery rate asked for
    near_contact,     ///< the errors of position and contact span the contact; either side may be meant
    undecided,        ///< the evidence does not decide
    unlike_any_unit,  ///< the soil is unlike that of every unit in the legend
    transported,      ///< the soil came from elsewhere and says little of the bedrock
    no_evidence,      ///< nothing was noted that tells units apart
    off_map,          ///< outside every polygon of the draft
    fits,             ///< there is no draft, and soil and rock seen about it speak plainly for one unit
};
inline constexpr std::size_t verdict_count = 9;

std::string_view to_string(Verdict verdict);      ///< the code, such as "near_contact"
std::string_view description(Verdict verdict);    ///< a plain sentence for domains and legends

struct StopFit {
    model::UnitIndex mapped_unit = model::no_unit;
    model::UnitIndex fitted_unit = model::no_unit;     ///< the most probable unit; no_unit without map and evidence
    model::UnitIndex next_unit = model::no_unit;       ///< the second most probable
    model::UnitIndex neighbour_unit = model::no_unit;  ///< across the nearest contact
    double p_mapped = 0;        ///< probability of the mapped unit, soil and draft together
    double p_fitted = 0;
    double soil_log10_odds = 0; ///< fitted over mapped, soil (and rock seen) alone
    double typicality = 1;      ///< share of the fitted unit's own stops that are at least as unusual; 0..1
    double contact_distance_m = -1;  ///< to the nearest drafted contact; negative: none within reach
    std::uint32_t nearest_contact = 0;  ///< index into UnitMap::contacts() where there is one within reach
    double p_transported = 0;
    double p_disputed = 0;           ///< probability that the draft is wrong here together with the ground about it
    /// Where creep brings soil of another unit: the one that gives most, how far up the slope the draft has it, and its
    /// share.
    model::UnitIndex upslope_unit = model::no_unit;
    double upslope_m = 0;
    double upslope_share = 0;
    Verdict verdict = Verdict::no_evidence;
};

/// One line of the reckoning: what one channel says for one unit at one stop.
struct EvidenceRow {
    model::UnitIndex unit = model::no_unit;
    std::string_view channel;
    double log_likelihood = 0;  ///< natural log of the density relative to the average over the units
    double weight = 0;          ///< by which it is multiplied, 0..1
};

/// How the channels were weighted, for the report and the metadata.
struct ChannelSummary {
    std::string name;
    std::size_t stops = 0;      ///< with a value
    double weight = 0;
    double bandwidth = 0;       ///< kernel width over the pooled standard deviation; 0 for categories and sets
    double held_out_log_loss = 0;  ///< of this channel alone, nats a stop
    double uniform_log_loss = 0;   ///< of the units' shares alone on the same stops
};

/// How right the soil alone was where the answer was known and held out.
struct HeldOutSkill {
    std::string known_by;     ///< "rock seen" or "stops far from every drafted contact"
    std::size_t stops = 0;
    double log_loss = 0;      ///< nats a stop
    double share_log_loss = 0;  ///< of the units' shares alone
    double accuracy = 0;
    double share_accuracy = 0;  ///< of always naming the commonest unit
};

/// Support for one drafted contact, in the order of UnitMap::contacts().
struct ContactSupport {
    std::uint32_t stops_for = 0;
    std::uint32_t stops_against = 0;
    double log10_odds_against = 0;  ///< sum over the stops near it
};

/// `review` of a contact. `shift` needs the contact-shift field.
enum class Review : std::uint8_t { supported, shift, doubtful, untested };
std::string_view to_string(Review review);
std::string_view description(Review review);
Review review_of(const ContactSupport& support);

/// How well the stops' soil is explained where it is taken to have crept so far.
struct CreepTrial {
    double length_m = 0;
    double gain = 0;  ///< held-out log likelihood over no creep, nats
};

/// Whether soil is followed up the slope, and how far.
struct CreepChoice {
    double length_m = 0;  ///< L of model::CreepSettings; 0: soil is taken to lie where it formed
    bool stated = false;  ///< by the settings; else asked of the stops
    std::vector<CreepTrial> trials;
};

struct FitOptions {
    bool move_contacts = true;  ///< let the shift field move contacts where held-out ground asks for it
    /// Stops x units, where there is no draft: probability of each unit before the soil of the stop. The map is then not asked,
    /// no stop has a mapped unit, no contact moves and no patch is sought.
    std::vector<float> prior = {};
    bool find_patches = true;   ///< look for areas drafted wrong as a whole; needs `move_contacts`
    std::span<const geo::ContactTrace> traces{};  ///< where contacts would run did they follow the beds measured
};

class Fit {
public:
    std::vector<StopFit> stops;              ///< one a stop, in survey order
    std::vector<ChannelSummary> channels;
    HeldOutSkill skill;
    std::vector<ContactSupport> contacts;    ///< one a drafted contact
    std::vector<StopCluster> clusters;       ///< of stops that no error of contacts explains, the most probable first
    CreepChoice creep;                       ///< whether soil was followed up the slope
    Answer answer;                           ///< for the whole map; empty where contacts were left alone unasked or there is no draft
    double contact_sd_m = 0;  ///< standard error of contacts left as drawn, for zones: between learnt and stated
    ShiftChoice shift;                       ///< how contacts were moved, if at all
    double block_m = 0;                      ///< side of the held-out blocks of ground
    bool without_draft = false;              ///< FitOptions::prior stood for it
    bool calibrated = false;                 ///< enough rock seen to trust the probabilities

    /// One plain sentence naming the strongest evidence.
    std::string reason(std::size_t stop) const;
    /// Whether the soil is that of a unit up the slope, so that creep explains what else would speak against the mapped
    /// unit.
    bool crept(std::size_t stop) const;
    /// The reckoning of one stop: for the mapped, the fitted and the next best unit (`top`), or for all units.
    std::vector<EvidenceRow> evidence(std::size_t stop, model::EvidenceRows rows) const;

    struct Reckoning;
    std::shared_ptr<const Reckoning> reckoning;
};

/// The whole reckoning. The result depends neither on the threads nor on the order of the stops' rows.
/// `survey`, `reduced` and `map` must outlive the Fit.
Fit fit_stops(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map,
              unsigned threads, ProblemLog& problems, Progress& progress, const FitOptions& options = {});

}  // namespace subcrop::infer

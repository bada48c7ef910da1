// Which mapped unit each stop best fits, and why.
//
//     Fit judged = fit_stops(survey, reduced, map, threads, problems, progress);
//     Verdict verdict = judged.stops[i].verdict;                                     // agrees, conflicts, ...
//     std::string why = judged.reason(i);                                            // one plain sentence
//     std::vector<EvidenceRow> rows = judged.evidence(i, model::EvidenceRows::top);  // channel by channel
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/geo/contact_traces.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/answer.hpp"
#include "subcrop/infer/shift_choice.hpp"
#include "subcrop/infer/stop_cluster.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

enum class Verdict : std::uint8_t {
    agrees,           ///< soil and draft support the same unit
    conflicts,        ///< flagged: the draft is probably wrong here (at the false discovery rate asked for)
    near_contact,     ///< the errors of position and contact span the contact: either side is possible
    undecided,        ///< the evidence does not decide
    unlike_any_unit,  ///< the soil is unlike the soil of every unit in the legend
    transported,      ///< the soil is transported and says little about the bedrock
    no_evidence,      ///< no note distinguishes the units
    off_map,          ///< outside every polygon of the draft
    fits,             ///< there is no draft; soil and nearby observed bedrock support one unit
};
inline constexpr std::size_t verdict_count = 9;

std::string_view to_string(Verdict verdict);    ///< the code, such as "near_contact"
std::string_view description(Verdict verdict);  ///< a plain sentence for domains and legends

struct StopFit {
    model::UnitIndex mapped_unit = model::no_unit;
    model::UnitIndex fitted_unit = model::no_unit;     ///< the most probable unit; no_unit without map and evidence
    model::UnitIndex next_unit = model::no_unit;       ///< the second most probable
    model::UnitIndex neighbour_unit = model::no_unit;  ///< across the nearest contact
    double p_mapped = 0;                               ///< probability of the mapped unit, soil and draft together
    double p_fitted = 0;
    double soil_log10_odds = 0;         ///< fitted against mapped unit, by soil and observed bedrock alone
    double typicality = 1;              ///< share of the fitted unit's own stops that are at least as unusual; 0..1
    double contact_distance_m = -1;     ///< to the nearest drafted contact; negative: none within reach
    std::uint32_t nearest_contact = 0;  ///< index into UnitMap::contacts() where there is one within reach
    double p_transported = 0;           ///< that water, ice, wind or a slide brought the soil (not creep)
    double p_disputed = 0;              ///< probability that the area around is drawn as the wrong unit
    /// If soil crept here from another unit: that unit, its distance upslope on the draft, and its share of the soil.
    model::UnitIndex upslope_unit = model::no_unit;
    double upslope_m = 0;
    double upslope_share = 0;
    Verdict verdict = Verdict::no_evidence;
};

/// What one channel says for one unit at one stop.
struct EvidenceRow {
    model::UnitIndex unit = model::no_unit;
    std::string_view channel;
    double log_likelihood = 0;  ///< natural log of the density relative to the average over the units
    double weight = 0;          ///< the factor of log_likelihood in the sum, 0..1
};

/// How the channels were weighted, for the report and the metadata.
struct ChannelSummary {
    std::string name;
    std::size_t stops = 0;  ///< with a value
    double weight = 0;
    double bandwidth = 0;          ///< kernel width over the pooled standard deviation; 0 for categories and sets
    double held_out_log_loss = 0;  ///< at hidden stops, of this channel alone; nats a stop
    double uniform_log_loss = 0;   ///< of the units' shares alone on the same stops
};

/// Cross-validation: how often soil alone named the right unit, at stops where the right unit is known.
struct HeldOutSkill {
    std::string known_by;  ///< "observed bedrock", "stops far from every drawn contact" or "the draft map"
    std::size_t stops = 0;
    double log_loss = 0;        ///< nats a stop
    double share_log_loss = 0;  ///< of the units' shares alone
    double accuracy = 0;
    double share_accuracy = 0;  ///< of always naming the commonest unit
};

/// A stop near a contact. Its soil and bedrock tell the two units apart.
struct ContactStop {
    std::uint32_t stop = 0;  ///< index into Survey::stops
    /// Decimal logarithm of the odds of the unit across, against the contact as drawn with its error. So a stop can
    /// say little against a contact that is as near as the error is large.
    double log10_odds_against = 0;
};

/// Support for one drafted contact, in the order of UnitMap::contacts().
struct ContactSupport {
    std::uint32_t stops_for = 0;
    std::uint32_t stops_against = 0;
    double log10_odds_against = 0;        ///< sum over the stops near it
    std::vector<ContactStop> stops = {};  ///< in survey order

    void add(const ContactStop& near);
};

/// Review of a contact. `shift` is possible only if contacts were moved.
enum class Review : std::uint8_t { supported, shift, doubtful, untested };
std::string_view to_string(Review review);
std::string_view description(Review review);
Review review_of(const ContactSupport& support);

/// How well a length of creep explains the soil of the stops.
struct CreepTrial {
    double length_m = 0;
    double gain = 0;  ///< log likelihood at hidden stops, minus the same without creep; nats
};

/// Whether creep is assumed, and how far.
struct CreepChoice {
    double length_m = 0;  ///< L of model::CreepSettings; 0: soil is taken to lie where it formed
    bool stated = false;  ///< by the settings; else chosen by the stops
    std::vector<CreepTrial> trials;
};

/// Number of stops with observed bedrock needed to check the probabilities. With fewer, use them only to rank.
inline constexpr std::size_t enough_observed_stops = 30;

struct FitOptions {
    bool move_contacts = true;  ///< move contacts if this predicts hidden stops better
    /// Without a draft: table of stops x units, the probability of each unit before the stop's soil is used. The map is
    /// then ignored.
    std::vector<float> prior = {};
    bool find_patches = true;                     ///< look for areas drawn as the wrong unit; needs `move_contacts`
    std::span<const geo::ContactTrace> traces{};  ///< where contacts are if they follow the measured beds
};

class Fit {
public:
    std::vector<StopFit> stops;  ///< one a stop, in survey order
    std::vector<ChannelSummary> channels;
    HeldOutSkill skill;
    std::vector<ContactSupport> contacts;  ///< one a drafted contact
    std::vector<StopCluster> clusters;     ///< not explained by errors of contacts; the most probable first
    CreepChoice creep;                     ///< whether creep was assumed
    Answer answer;                         ///< for the whole map; empty without a draft or if `move_contacts` is off
    double contact_sd_m = 0;     ///< of contacts left as drawn: geometric mean of learnt and (if larger) stated error
    ShiftChoice shift;           ///< how contacts were moved, if at all
    double block_m = 0;          ///< side of the blocks
    bool without_draft = false;  ///< FitOptions::prior was used instead
    bool calibrated = false;     ///< bedrock was observed at `enough_observed_stops` or more

    /// The strongest evidence in plain words. It begins with creep or transport if the soil came from another place.
    std::string reason(std::size_t stop) const;
    /// Whether creep from a unit upslope explains soil that contradicts the mapped unit.
    bool crept(std::size_t stop) const;
    /// Evidence breakdown of one stop: for the mapped, the fitted and the second best unit (`top`), or for all units.
    std::vector<EvidenceRow> evidence(std::size_t stop, model::EvidenceRows rows) const;

    struct Reckoning;
    std::shared_ptr<const Reckoning> reckoning;
};

/// The whole computation. The result depends neither on the threads nor on the order of the stops' rows.
/// `survey`, `reduced` and `map` must outlive the Fit.
Fit fit_stops(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map, unsigned threads,
              ProblemLog& problems, Progress& progress, const FitOptions& options = {});

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

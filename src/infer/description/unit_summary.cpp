#include "subcrop/infer/unit_summary.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <span>
#include <string_view>
#include <utility>

#include "infer/answer/reckoning.hpp"
#include "infer/description/censored_median.hpp"
#include "infer/description/confusion.hpp"
#include "infer/description/indicating_plants.hpp"
#include "infer/description/told_apart.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/field/colour_difference.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/munsell.hpp"

namespace subcrop::infer {

namespace {

/// Number of chips tried as the middle one. Rarer chips are not in the middle.
constexpr std::size_t middle_candidates = 30;

/// Stops with a smaller probability of the unit are not counted for it, because they would only add rare words.
constexpr double min_weight = 0.01;
/// Ranges use stops with more than this probability of the unit.
constexpr double more_probably_than_not = 0.5;
/// Number of stops whose probabilities are computed together, on all threads.
constexpr std::size_t stops_at_once = 65536;

using Counts = std::map<std::string, double>;

Tally tally(const Counts& counts) {
    Tally result;
    for (const auto& [name, count] : counts) result.values.push_back({name, count});
    std::stable_sort(result.values.begin(), result.values.end(),
                     [](const Counted& a, const Counted& b) { return a.count > b.count; });
    return result;
}

/// The unit that a stop describes with DescribedBy::draft: the observed one, else the drafted one (without a draft the
/// one it clearly fits). None if its soil or place does not allow it.
model::UnitIndex told_unit(const model::Stop& stop, const StopFit& fit) {
    if (stop.unit_seen != model::no_unit) return stop.unit_seen;
    if (fit.verdict == Verdict::transported || fit.verdict == Verdict::off_map) return model::no_unit;
    return fit.verdict == Verdict::fits ? fit.fitted_unit : fit.mapped_unit;
}

/// A real chip of the colour book: a range, or a colour between chips, becomes the nearest chip.
std::vector<std::string> real_chips(const model::Coded<model::ColourValue>& colours) {
    std::vector<std::string> chips;
    for (const model::ColourValue& value : colours.values) {
        const auto reading = field::parse_munsell(value.notation);
        const auto whole = [](double x) { return x == std::floor(x); };
        const bool is_chip = reading.value && reading.value->chips.size() == 1 &&
                             whole(reading.value->chips[0].value) && whole(reading.value->chips[0].chroma) &&
                             whole(reading.value->chips[0].hue / 2.5);
        chips.push_back(is_chip ? value.notation : field::notation(field::nearest_chip(value.lab)));
    }
    return chips;
}

ColourSummary summarise_colours(const Counts& counts) {
    ColourSummary summary;
    summary.chips = tally(counts);
    std::vector<field::Lab> labs;
    for (const Counted& chip : summary.chips.values)
        labs.push_back(field::to_lab(field::parse_munsell(chip.name).value->chips.front()));
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < std::min(middle_candidates, labs.size()); ++i) {
        double sum = 0;
        for (std::size_t j = 0; j < labs.size(); ++j)
            sum += summary.chips.values[j].count * field::colour_difference(labs[i], labs[j]);
        if (sum >= least) continue;
        least = sum;
        summary.chip = summary.chips.values[i].name;
    }
    return summary;
}

/// A number and its weight.
struct Weighted {
    double value = 0, weight = 1;
};

/// The value at which the weights reach a share of their sum. If they reach it exactly, midway to the next value.
double quantile(std::vector<Weighted> values, double share) {
    std::sort(values.begin(), values.end(), [](const Weighted& a, const Weighted& b) { return a.value < b.value; });
    double sum = 0, below = 0;
    for (const Weighted& value : values) sum += value.weight;
    for (std::size_t i = 0; i < values.size(); ++i) {
        below += values[i].weight;
        if (std::abs(below - share * sum) < 1e-9 * sum && i + 1 < values.size())
            return (values[i].value + values[i + 1].value) / 2;
        if (below > share * sum) return values[i].value;
    }
    return values.back().value;
}

double median(std::vector<Weighted> values) { return quantile(std::move(values), 0.5); }

DepthSummary summarise_depths(const std::vector<Depth>& depths) {
    DepthSummary summary;
    std::size_t holes = 0;
    for (const Depth& depth : depths) {
        if (!depth.reached) {
            summary.deeper += depth.weight;
            continue;
        }
        summary.reached += depth.weight;
        if (depth.weight < more_probably_than_not) continue;
        ++holes;
        summary.min_cm = std::min(summary.min_cm.value_or(depth.cm), depth.cm);
        summary.max_cm = std::max(summary.max_cm.value_or(depth.cm), depth.cm);
    }
    if (holes < 2) return summary;  // one hole gives a depth, but no median
    const MedianInterval middle = censored_median_interval(depths);
    summary.median_cm = middle.median;
    summary.low_cm = middle.low;
    summary.high_cm = middle.high;
    return summary;
}

FragmentSummary summarise_fragments(const std::vector<Weighted>& percents, const Counts& kinds) {
    FragmentSummary summary;
    summary.kinds = tally(kinds);
    for (const Weighted& percent : percents) {
        summary.horizons += percent.weight;
        if (percent.weight < more_probably_than_not) continue;
        summary.min_pct = std::min(summary.min_pct.value_or(percent.value), percent.value);
        summary.max_pct = std::max(summary.max_pct.value_or(percent.value), percent.value);
    }
    if (summary.min_pct) summary.median_pct = median(percents);
    return summary;
}

/// One stop's horizons; equal neighbours are merged.
struct Sequence {
    struct Horizon {
        std::string name;
        std::optional<double> top_cm, bottom_cm;
        std::vector<std::int32_t> colours;  ///< codes of moist colours
    };
    std::vector<Horizon> horizons;
    std::string key;
    double weight = 1;
};

Sequence sequence_of(const model::Survey& survey, const model::Reduced& reduced, const model::Stop& stop) {
    Sequence sequence;
    for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
        const model::Horizon& horizon = survey.horizons[stop.first_horizon + k];
        const std::int32_t colour = reduced.colour_moist.codes[stop.first_horizon + k];
        const auto reading = horizon.designation.empty() ? Parsed<field::Designation>{}
                                                         : field::parse_designation(horizon.designation.str());
        if (!reading.value || reading.value->masters.empty()) return {};  // an unnamed horizon breaks the sequence
        const std::string name = reading.value->masters + (reading.value->weathered_rock() ? "r" : "");
        if (!sequence.horizons.empty() && sequence.horizons.back().name == name) {
            sequence.horizons.back().bottom_cm = horizon.bottom_cm;
            if (colour >= 0) sequence.horizons.back().colours.push_back(colour);
            continue;
        }
        sequence.horizons.push_back({name, horizon.top_cm, horizon.bottom_cm, {}});
        if (colour >= 0) sequence.horizons.back().colours.push_back(colour);
        sequence.key += (sequence.key.empty() ? "" : ", ") + name;
    }
    return sequence;
}

ProfileSummary summarise_profiles(const std::vector<Sequence>& sequences, const std::vector<std::string>& chips) {
    ProfileSummary summary;
    Counts counts;
    for (const Sequence& sequence : sequences) {
        counts[sequence.key] += sequence.weight;
        summary.described += sequence.weight;
    }
    const Tally all = tally(counts);
    if (all.values.empty()) return summary;
    summary.stops = all.values[0].count;
    std::vector<std::vector<Weighted>> tops, bottoms;
    std::vector<Counts> colours;
    for (const Sequence& sequence : sequences) {
        if (sequence.key != all.values[0].name) continue;
        summary.horizons.resize(sequence.horizons.size());
        tops.resize(sequence.horizons.size());
        bottoms.resize(sequence.horizons.size());
        colours.resize(sequence.horizons.size());
        for (std::size_t i = 0; i < sequence.horizons.size(); ++i) {
            const Sequence::Horizon& horizon = sequence.horizons[i];
            summary.horizons[i].name = horizon.name;
            if (horizon.top_cm) tops[i].push_back({*horizon.top_cm, sequence.weight});
            if (horizon.bottom_cm) bottoms[i].push_back({*horizon.bottom_cm, sequence.weight});
            for (const std::int32_t colour : horizon.colours)
                colours[i][chips[static_cast<std::size_t>(colour)]] += sequence.weight;
        }
    }
    for (std::size_t i = 0; i < summary.horizons.size(); ++i) {
        summary.horizons[i].chip = summarise_colours(colours[i]).chip;
        if (!tops[i].empty()) {
            summary.horizons[i].top_cm = median(tops[i]);
            summary.horizons[i].top_low_cm = quantile(tops[i], 0.25);
            summary.horizons[i].top_high_cm = quantile(tops[i], 0.75);
        }
        // The depth of the hole is no property of the unit.
        if (!bottoms[i].empty() && i + 1 < summary.horizons.size()) summary.horizons[i].bottom_cm = median(bottoms[i]);
    }
    return summary;
}

/// How often each code occurs. Counted by number, because looking up a million words takes 0.2 s.
class CodeCounts {
public:
    void add(std::size_t code, double weight) {
        if (code >= counts_.size()) counts_.resize(code + 1, 0);
        counts_[code] += weight;
    }
    const std::vector<double>& counts() const { return counts_; }
    /// Counts codes with the same name together.
    template <class Name>
    Counts by_name(Name&& name) const {
        Counts named;
        for (std::size_t code = 0; code < counts_.size(); ++code)
            if (counts_[code] > 0) named[std::string(name(code))] += counts_[code];
        return named;
    }

private:
    std::vector<double> counts_;
};

struct Gathered {
    CodeCounts moist, dry, textures, fragment_kinds, reaction, parent_materials, landforms;
    std::vector<Weighted> fragments_pct;
    std::vector<Depth> weathered_rock, rock, fresh_rock;
    std::vector<Sequence> sequences;
    Counts minerals;
    double mineral_stops = 0, stops = 0;
    std::vector<TypeStop> type_stops;
};

class Gatherer {
public:
    Gatherer(const model::Survey& survey, const model::Reduced& reduced)
        : survey_(survey),
          reduced_(reduced),
          moist_(real_chips(reduced.colour_moist)),
          dry_(real_chips(reduced.colour_dry)) {
        for (const std::string& code : reduced.effervescence.values) strengths_.push_back(strength(code));
    }

    void gather(std::size_t s, double weight, Gathered& into) const {
        const model::Stop& stop = survey_.stops[s];
        std::size_t strongest = 0;
        std::set<std::string_view> minerals;
        for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
            const std::size_t h = stop.first_horizon + k;
            if (const auto code = code_of(reduced_.effervescence, h))
                strongest = std::max(strongest, 1 + strengths_[*code]);
            if (const auto code = code_of(reduced_.minerals, h); code && reduced_.zone[h] != field::Zone::rock)
                minerals.insert(reduced_.minerals.values[*code].begin(), reduced_.minerals.values[*code].end());
            if (reduced_.zone[h] != field::Zone::subsoil) continue;
            if (const auto code = code_of(reduced_.colour_moist, h)) into.moist.add(*code, weight);
            if (const auto code = code_of(reduced_.colour_dry, h)) into.dry.add(*code, weight);
            if (const auto code = code_of(reduced_.texture, h)) into.textures.add(*code, weight);
            if (survey_.horizons[h].fragments_pct)
                into.fragments_pct.push_back({*survey_.horizons[h].fragments_pct, weight});
            if (const auto code = code_of(reduced_.fragment_kind, h)) into.fragment_kinds.add(*code, weight);
        }
        if (strongest > 0) into.reaction.add(strongest - 1, weight);
        if (!minerals.empty()) into.mineral_stops += weight;
        for (const std::string_view mineral : minerals) into.minerals[std::string(mineral)] += weight;
        if (reduced_.landform.codes[s] >= 0)
            into.landforms.add(static_cast<std::size_t>(reduced_.landform.codes[s]), weight);
        if (Sequence sequence = sequence_of(survey_, reduced_, stop); !sequence.horizons.empty()) {
            sequence.weight = weight;
            into.sequences.push_back(std::move(sequence));
        }
        gather_depths(s, weight, into);
    }

    const std::string& moist_chip(std::size_t code) const { return moist_[code]; }
    const std::string& dry_chip(std::size_t code) const { return dry_[code]; }

    const std::vector<std::string>& moist_chips() const { return moist_; }

private:
    /// Rock that is only inferred below the hole counts as 'deeper than the hole', which is certain.
    void gather_depths(std::size_t s, double weight, Gathered& into) const {
        const field::RockDepth rock = model::rock_depth(survey_, reduced_, s);
        if (rock.basis == field::RockDepth::Basis::unknown) return;
        into.rock.push_back({rock.reached() ? *rock.depth_cm : rock.low_cm, rock.reached(), weight});
        if (rock.weathered_cm)
            into.weathered_rock.push_back({*rock.weathered_cm, true, weight});
        else if (!rock.reached())
            into.weathered_rock.push_back({rock.low_cm, false, weight});
        // Fresh rock is deeper than the hole, or than the weathered rock in which the hole ended.
        const model::Stop& stop = survey_.stops[s];
        std::optional<double> fresh;
        double bottom = rock.reached() ? *rock.depth_cm : rock.low_cm;
        for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
            const std::size_t h = stop.first_horizon + k;
            const model::Horizon& horizon = survey_.horizons[h];
            if (reduced_.zone[h] == field::Zone::rock && reduced_.weathered_rock[h] == 0 && horizon.top_cm && !fresh)
                fresh = horizon.top_cm;
            bottom = std::max(bottom, horizon.bottom_cm.value_or(horizon.top_cm.value_or(0)));
        }
        if (!fresh && rock.basis == field::RockDepth::Basis::refusal) fresh = rock.depth_cm;
        into.fresh_rock.push_back({fresh.value_or(bottom), fresh.has_value(), weight});
    }

    template <class Value>
    static std::optional<std::size_t> code_of(const model::Coded<Value>& coded, std::size_t h) {
        return coded.codes[h] >= 0 ? std::optional(static_cast<std::size_t>(coded.codes[h])) : std::nullopt;
    }
    static std::size_t strength(const std::string& code) {
        const auto classes = field::effervescence_classes();
        return static_cast<std::size_t>(
            std::find_if(classes.begin(), classes.end(), [&](const auto& c) { return c.code == code; }) -
            classes.begin());
    }

    const model::Survey& survey_;
    const model::Reduced& reduced_;
    std::vector<std::string> moist_, dry_;  ///< chip of each distinct value
    std::vector<std::size_t> strengths_;    ///< of each distinct reaction
};

/// Moments of a mixture of grain sizes, given by code and weight.
std::optional<field::IlrDistribution> mixture(const std::vector<std::pair<std::size_t, double>>& parts,
                                              const std::vector<model::TextureValue>& textures) {
    if (parts.empty()) return std::nullopt;
    field::IlrDistribution all;
    double sum = 0;
    for (const auto& [code, weight] : parts) sum += weight;
    for (const auto& [code, weight] : parts)
        for (std::size_t i = 0; i < 2; ++i) all.mean[i] += weight / sum * textures[code].distribution.mean[i];
    for (const auto& [code, weight] : parts) {
        const field::IlrDistribution& part = textures[code].distribution;
        const double share = weight / sum, x = part.mean[0] - all.mean[0], y = part.mean[1] - all.mean[1];
        all.covariance[0] += share * (part.covariance[0] + x * x);
        all.covariance[1] += share * (part.covariance[1] + x * y);
        all.covariance[2] += share * (part.covariance[2] + y * y);
    }
    return all;
}

std::vector<std::pair<std::size_t, double>> with_weight(const std::vector<double>& counts) {
    std::vector<std::pair<std::size_t, double>> result;
    for (std::size_t code = 0; code < counts.size(); ++code)
        if (counts[code] > 0) result.emplace_back(code, counts[code]);
    return result;
}

/// Weights of the stops of a block for every unit.
class StopWeights {
public:
    StopWeights(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map, const Fit& fit,
                const UnitSummaryOptions& options)
        : survey_(survey), reduced_(reduced), map_(map), fit_(fit), options_(options), units_(survey.units.size()) {}

    /// Probability of lying on each unit, wherever its soil came from.
    const std::vector<double>& of_block(std::size_t begin, std::size_t end) {
        weights_.assign((end - begin) * units_, 0.0);
        parallel_blocks(end - begin, 1024, options_.threads, [&](std::size_t first, std::size_t last, unsigned) {
            std::vector<double> likelihood(units_);
            for (std::size_t i = first; i < last; ++i) weigh(begin + i, likelihood, {&weights_[i * units_], units_});
        });
        return weights_;
    }

    /// The share of that probability with which the stop's soil counts for a unit.
    double soil_share(std::size_t s, std::size_t unit) const {
        if (options_.described_by == DescribedBy::draft)
            return told_unit(survey_.stops[s], fit_.stops[s]) == static_cast<model::UnitIndex>(unit) ? 1 : 0;
        return survey_.units[unit].cover ? 1 : 1 - carried_beyond_doubt(reduced_, s);
    }

    /// Whether the origin of the stop's soil counts for a unit; transported soil is included.
    bool material_counts(std::size_t s, std::size_t unit) const {
        if (options_.described_by == DescribedBy::posterior) return true;
        const model::UnitIndex seen = survey_.stops[s].unit_seen;
        return (seen != model::no_unit ? seen : on_map(s)) == static_cast<model::UnitIndex>(unit);
    }

private:
    model::UnitIndex on_map(std::size_t s) const {
        return fit_.without_draft ? map_.unit_at(survey_.stops[s].position) : fit_.stops[s].mapped_unit;
    }
    void weigh(std::size_t s, std::span<double> likelihood, std::span<double> weights) const {
        const model::Stop& stop = survey_.stops[s];
        if (options_.described_by == DescribedBy::draft) {
            for (const model::UnitIndex unit :
                 {stop.unit_seen != model::no_unit ? stop.unit_seen : on_map(s), told_unit(stop, fit_.stops[s])})
                if (unit != model::no_unit) weights[static_cast<std::size_t>(unit)] = 1;
        } else if (stop.unit_seen != model::no_unit || on_map(s) != model::no_unit) {
            fit_.reckoning->posterior(s, likelihood, weights);
            for (double& weight : weights) weight = weight < min_weight ? 0 : weight;
        }
    }

    const model::Survey& survey_;
    const model::Reduced& reduced_;
    const geo::UnitMap& map_;
    const Fit& fit_;
    const UnitSummaryOptions& options_;
    std::size_t units_;
    std::vector<double> weights_;
};

void count_contacts(const geo::UnitMap& map, const Relocation& relocation, std::vector<UnitSummary>& units) {
    for (std::size_t i = 0; i < map.contacts().size(); ++i) {
        const geo::Contact& contact = map.contacts()[i];
        const Review review = review_of(relocation, i);
        for (const model::UnitIndex unit : {contact.unit_a, contact.unit_b}) {
            ContactsKnown& known = units[static_cast<std::size_t>(unit)].contacts;
            ++known.contacts;
            known.length_m += contact.length_m;
            known.length_of_class_m[static_cast<std::size_t>(relocation.contacts[i].location)] += contact.length_m;
            if (!relocation.contacts[i].stretches.empty() || review == Review::shift)
                ++known.elsewhere;
            else if (review == Review::doubtful)
                ++known.doubtful;
            else if (review == Review::untested)
                ++known.untested;
        }
    }
}

/// Other units by length of shared contact, the longest first.
void list_neighbours(const geo::UnitMap& map, std::vector<UnitSummary>& units) {
    const auto add = [&](model::UnitIndex unit, model::UnitIndex other, double length_m) {
        std::vector<Neighbour>& list = units[static_cast<std::size_t>(unit)].neighbours;
        auto found = std::find_if(list.begin(), list.end(), [&](const Neighbour& n) { return n.unit == other; });
        if (found == list.end()) found = list.insert(list.end(), Neighbour{other, 0, 0, {}});
        ++found->contacts;
        found->length_m += length_m;
    };
    for (const geo::Contact& contact : map.contacts()) {
        add(contact.unit_a, contact.unit_b, contact.length_m);
        add(contact.unit_b, contact.unit_a, contact.length_m);
    }
    for (UnitSummary& unit : units) {
        std::sort(unit.neighbours.begin(), unit.neighbours.end(), [](const Neighbour& a, const Neighbour& b) {
            return a.length_m != b.length_m ? a.length_m > b.length_m : a.unit < b.unit;
        });
    }
}

/// Stops with a higher probability of a unit may be shown as typical of it.
constexpr double type_stop_probability = 0.8;
constexpr std::size_t max_type_stops = 5;

/// Stops with observed bedrock first, then the most probable ones with usual soil.
void keep_best(std::vector<TypeStop>& stops) {
    std::stable_sort(stops.begin(), stops.end(), [](const TypeStop& a, const TypeStop& b) {
        if (a.bedrock_observed != b.bedrock_observed) return a.bedrock_observed;
        return a.probability * a.typicality > b.probability * b.typicality;
    });
    if (stops.size() > max_type_stops) stops.resize(max_type_stops);
}

}  // namespace

std::optional<ConfusedPair> most_confused_pair(const std::vector<UnitSummary>& units) {
    constexpr std::size_t fewest_known = 5;
    std::optional<ConfusedPair> most;
    for (std::size_t a = 0; a < units.size(); ++a) {
        for (std::size_t b = a + 1; b < units.size(); ++b) {
            const Confusion &of_a = units[a].mistaken, &of_b = units[b].mistaken;
            if (of_a.known < fewest_known || of_b.known < fewest_known) continue;
            const double p = (of_a.probability[b] + of_b.probability[a]) / 2;
            if (most && p <= most->probability) continue;
            most = {units[a].unit, units[b].unit, p, of_a.named[b] + of_b.named[a], of_a.known + of_b.known};
        }
    }
    return most;
}

std::vector<UnitSummary> summarise_units(const model::Survey& survey, const model::Reduced& reduced,
                                         const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
                                         const UnitSummaryOptions& options) {
    const std::size_t units = survey.units.size();
    std::vector<UnitSummary> summaries(units);
    std::vector<Gathered> gathered(units);
    std::vector<PlantSite> sites;
    const double area = std::accumulate(map.unit_areas_m2().begin(), map.unit_areas_m2().end(), 0.0);
    for (std::size_t u = 0; u < units; ++u) {
        summaries[u].unit = static_cast<model::UnitIndex>(u);
        summaries[u].without_draft = fit.without_draft;
        summaries[u].described_by = options.described_by;
        summaries[u].area_m2 = map.unit_areas_m2()[u];
        summaries[u].area_share = area > 0 ? summaries[u].area_m2 / area : 0;
    }
    const Gatherer gatherer(survey, reduced);
    StopWeights weights(survey, reduced, map, fit, options);
    ChannelUse use(*fit.reckoning);
    for (std::size_t begin = 0; begin < survey.stops.size(); begin += stops_at_once) {
        const std::size_t end = std::min(begin + stops_at_once, survey.stops.size());
        const std::vector<double>& of_block = weights.of_block(begin, end);
        for (std::size_t s = begin; s < end; ++s) {
            const model::Stop& stop = survey.stops[s];
            const StopFit& judged = fit.stops[s];
            const model::UnitIndex stands_on = fit.without_draft ? map.unit_at(stop.position) : judged.mapped_unit;
            if (stands_on != model::no_unit) {
                UnitSummary& mapped = summaries[static_cast<std::size_t>(stands_on)];
                ++mapped.stops;
                if (judged.verdict == Verdict::agrees) ++mapped.stops_agree;
                if (judged.verdict == Verdict::conflicts) ++mapped.stops_conflict;
            }
            if (stop.unit_seen != model::no_unit) ++summaries[static_cast<std::size_t>(stop.unit_seen)].stops_rock_seen;
            const bool noted = fit.reckoning->has_evidence(s);
            for (std::size_t u = 0; u < units; ++u) {
                const double below = of_block[(s - begin) * units + u];
                if (below <= 0) continue;
                if (weights.material_counts(s, u))
                    gathered[u].parent_materials.add(static_cast<std::size_t>(reduced.parent_material[s]), below);
                const double weight = below * weights.soil_share(s, u);
                if (weight < min_weight) continue;
                if (noted) gathered[u].stops += weight;
                gatherer.gather(s, weight, gathered[u]);
                use.add(s, u, weight);
                if (weight >= more_probably_than_not && reduced.plants.codes[s] >= 0)
                    sites.push_back(
                        {static_cast<model::UnitIndex>(u), static_cast<std::size_t>(reduced.plants.codes[s])});
                if (noted && weight >= type_stop_probability && judged.verdict != Verdict::conflicts) {
                    gathered[u].type_stops.push_back(
                        {s, below, judged.typicality, stop.unit_seen == static_cast<model::UnitIndex>(u)});
                    if (gathered[u].type_stops.size() > 1000) keep_best(gathered[u].type_stops);
                }
            }
        }
    }
    use.settle();
    const std::vector<std::vector<IndicatingPlant>> plants =
        indicating_plants(sites, reduced, units, survey.settings.seed);
    const std::vector<Confusion> mistaken = confusions(*fit.reckoning);
    count_contacts(map, relocation, summaries);
    list_neighbours(map, summaries);
    const std::vector<std::size_t> known = known_stops(*fit.reckoning);
    for (std::size_t u = 0; u < units; ++u) {
        UnitSummary& summary = summaries[u];
        Gathered& from = gathered[u];
        summary.described_stops = from.stops;
        summary.moist =
            summarise_colours(from.moist.by_name([&](std::size_t code) { return gatherer.moist_chip(code); }));
        summary.dry = summarise_colours(from.dry.by_name([&](std::size_t code) { return gatherer.dry_chip(code); }));
        summary.textures_at = with_weight(from.textures.counts());
        summary.texture = {
            tally(from.textures.by_name([&](std::size_t code) { return reduced.texture.values[code].name; })),
            mixture(summary.textures_at, reduced.texture.values)};
        summary.fragments = summarise_fragments(from.fragments_pct, from.fragment_kinds.by_name([&](std::size_t code) {
            return reduced.fragment_kind.values[code];
        }));
        summary.reaction = tally(
            from.reaction.by_name([](std::size_t strength) { return field::effervescence_classes()[strength].code; }));
        summary.minerals = {tally(from.minerals).values, from.mineral_stops};
        summary.landforms =
            tally(from.landforms.by_name([&](std::size_t code) { return reduced.landform.values[code]; }));
        summary.profile = summarise_profiles(from.sequences, gatherer.moist_chips());
        summary.weathered_rock = summarise_depths(from.weathered_rock);
        summary.rock = summarise_depths(from.rock);
        summary.fresh_rock = summarise_depths(from.fresh_rock);
        summary.indicating_plants = plants[u];
        summary.plants = plant_words(plants[u]);
        summary.parent_materials = tally(from.parent_materials.by_name(
            [](std::size_t kind) { return to_string(static_cast<field::ParentMaterial>(kind)); }));
        summary.mistaken = mistaken[u];
        keep_best(from.type_stops);
        summary.type_stops = std::move(from.type_stops);
        for (std::size_t c = 0; c < fit.reckoning->channels.size(); ++c) {
            const std::string& name = fit.reckoning->channels[c].name;
            const bool own = std::any_of(survey.evidence.begin(), survey.evidence.end(),
                                         [&](const model::EvidenceValues& e) { return e.definition.name == name; });
            if (std::string words = own ? use.described(c, u) : std::string(); !words.empty())
                summary.evidence.emplace_back(name, std::move(words));
        }
        for (Neighbour& neighbour : summary.neighbours)
            neighbour.told_by = differences(*fit.reckoning, known, use, summary.unit, neighbour.unit);
    }
    return summaries;
}

}  // namespace subcrop::infer

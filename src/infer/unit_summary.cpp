#include "subcrop/infer/unit_summary.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include "censored_median.hpp"
#include "confusion.hpp"
#include "indicating_plants.hpp"
#include "subcrop/field/colour_difference.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/munsell.hpp"

namespace subcrop::infer {

namespace {

/// Chips tried as the middle one: beyond these a chip was noted so seldom that it is not the middle of anything.
constexpr std::size_t middle_candidates = 30;

using Counts = std::map<std::string, std::size_t>;

Tally tally(const Counts& counts) {
    Tally result;
    for (const auto& [name, count] : counts) result.values.push_back({name, count});
    std::stable_sort(result.values.begin(), result.values.end(), [](const Counted& a, const Counted& b) { return a.count > b.count; });
    return result;
}

/// The unit a stop tells of: the rock seen, else the drafted one (without a draft the one it plainly fits), where soil and place allow.
model::UnitIndex told_unit(const model::Stop& stop, const StopFit& fit) {
    if (stop.unit_seen != model::no_unit) return stop.unit_seen;
    if (fit.verdict == Verdict::transported || fit.verdict == Verdict::off_map) return model::no_unit;
    return fit.verdict == Verdict::fits ? fit.fitted_unit : fit.mapped_unit;
}

/// A chip that can be held beside the soil: a range and a colour between chips become the book's nearest.
std::vector<std::string> real_chips(const model::Coded<model::ColourValue>& colours) {
    std::vector<std::string> chips;
    for (const model::ColourValue& value : colours.values) {
        const auto reading = field::parse_munsell(value.notation);
        const auto whole = [](double x) { return x == std::floor(x); };
        const bool is_chip = reading.value && reading.value->chips.size() == 1 && whole(reading.value->chips[0].value) &&
                             whole(reading.value->chips[0].chroma) && whole(reading.value->chips[0].hue / 2.5);
        chips.push_back(is_chip ? value.notation : field::notation(field::nearest_chip(value.lab)));
    }
    return chips;
}

ColourSummary summarise_colours(const Counts& counts) {
    ColourSummary summary;
    summary.chips = tally(counts);
    std::vector<field::Lab> labs;
    for (const Counted& chip : summary.chips.values) labs.push_back(field::to_lab(field::parse_munsell(chip.name).value->chips.front()));
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < std::min(middle_candidates, labs.size()); ++i) {
        double sum = 0;
        for (std::size_t j = 0; j < labs.size(); ++j)
            sum += static_cast<double>(summary.chips.values[j].count) * field::colour_difference(labs[i], labs[j]);
        if (sum >= least) continue;
        least = sum;
        summary.chip = summary.chips.values[i].name;
    }
    return summary;
}

double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    const std::size_t half = values.size() / 2;
    return values.size() % 2 == 1 ? values[half] : (values[half - 1] + values[half]) / 2;
}

DepthSummary summarise_depths(const std::vector<Depth>& depths) {
    DepthSummary summary;
    for (const Depth& depth : depths) {
        if (!depth.reached) {
            ++summary.deeper;
            continue;
        }
        ++summary.reached;
        summary.least_cm = std::min(summary.least_cm.value_or(depth.cm), depth.cm);
        summary.greatest_cm = std::max(summary.greatest_cm.value_or(depth.cm), depth.cm);
    }
    if (summary.reached > 1) summary.median_cm = censored_median(depths);  // one hole has a depth, but no middle
    return summary;
}

FragmentSummary summarise_fragments(const std::vector<double>& percents, const Counts& kinds) {
    FragmentSummary summary;
    summary.horizons = percents.size();
    summary.kinds = tally(kinds);
    if (percents.empty()) return summary;
    const auto [least, greatest] = std::minmax_element(percents.begin(), percents.end());
    summary.least_pct = *least;
    summary.greatest_pct = *greatest;
    summary.median_pct = median(percents);
    return summary;
}

/// One stop's horizons, like ones in a row made one.
struct Sequence {
    std::vector<ProfileSummary::Horizon> horizons;
    std::string key;
};

Sequence sequence_of(const model::Survey& survey, const model::Stop& stop) {
    Sequence sequence;
    for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
        const model::Horizon& horizon = survey.horizons[stop.first_horizon + k];
        const auto reading = horizon.designation.empty() ? Parsed<field::Designation>{} : field::parse_designation(horizon.designation.str());
        if (!reading.value || reading.value->masters.empty()) return {};  // an unnamed horizon breaks the sequence
        const std::string name = reading.value->masters + (reading.value->weathered_rock() ? "r" : "");
        if (!sequence.horizons.empty() && sequence.horizons.back().name == name) {
            sequence.horizons.back().bottom_cm = horizon.bottom_cm;
            continue;
        }
        sequence.horizons.push_back({name, horizon.top_cm, horizon.bottom_cm});
        sequence.key += (sequence.key.empty() ? "" : ", ") + name;
    }
    return sequence;
}

ProfileSummary summarise_profiles(const std::vector<Sequence>& sequences) {
    ProfileSummary summary;
    Counts counts;
    for (const Sequence& sequence : sequences) ++counts[sequence.key];
    summary.described = sequences.size();
    const Tally all = tally(counts);
    if (all.values.empty()) return summary;
    summary.stops = all.values[0].count;
    std::vector<std::vector<double>> tops, bottoms;
    for (const Sequence& sequence : sequences) {
        if (sequence.key != all.values[0].name) continue;
        summary.horizons.resize(sequence.horizons.size());
        tops.resize(sequence.horizons.size());
        bottoms.resize(sequence.horizons.size());
        for (std::size_t i = 0; i < sequence.horizons.size(); ++i) {
            summary.horizons[i].name = sequence.horizons[i].name;
            if (sequence.horizons[i].top_cm) tops[i].push_back(*sequence.horizons[i].top_cm);
            if (sequence.horizons[i].bottom_cm) bottoms[i].push_back(*sequence.horizons[i].bottom_cm);
        }
    }
    for (std::size_t i = 0; i < summary.horizons.size(); ++i) {
        if (!tops[i].empty()) summary.horizons[i].top_cm = median(tops[i]);
        // How deep the hole went is no property of the unit.
        if (!bottoms[i].empty() && i + 1 < summary.horizons.size()) summary.horizons[i].bottom_cm = median(bottoms[i]);
    }
    return summary;
}

/// How often each code was met. Counted by number, since a million words looked up take 0.2 s.
class CodeCounts {
public:
    void add(std::size_t code) {
        if (code >= counts_.size()) counts_.resize(code + 1, 0);
        ++counts_[code];
    }
    /// Codes of one name together.
    template <class Name>
    Counts by_name(Name&& name) const {
        Counts named;
        for (std::size_t code = 0; code < counts_.size(); ++code)
            if (counts_[code] > 0) named[std::string(name(code))] += counts_[code];
        return named;
    }

private:
    std::vector<std::size_t> counts_;
};

struct Gathered {
    CodeCounts moist, dry, textures, fragment_kinds, reaction, parent_materials;
    std::vector<std::uint32_t> grain_sizes;  ///< codes of textures
    std::vector<double> fragments_pct;
    std::vector<Depth> weathered_rock, rock;
    std::vector<Sequence> sequences;
};

class Gatherer {
public:
    Gatherer(const model::Survey& survey, const model::Reduced& reduced)
        : survey_(survey), reduced_(reduced), moist_(real_chips(reduced.colour_moist)), dry_(real_chips(reduced.colour_dry)) {
        for (const std::string& code : reduced.effervescence.values) strengths_.push_back(strength(code));
    }

    void gather(std::size_t s, Gathered& into) const {
        const model::Stop& stop = survey_.stops[s];
        std::size_t strongest = 0;
        for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
            const std::size_t h = stop.first_horizon + k;
            if (const auto code = code_of(reduced_.effervescence, h)) strongest = std::max(strongest, 1 + strengths_[*code]);
            if (reduced_.zone[h] != field::Zone::subsoil) continue;
            if (const auto code = code_of(reduced_.colour_moist, h)) into.moist.add(*code);
            if (const auto code = code_of(reduced_.colour_dry, h)) into.dry.add(*code);
            if (const auto code = code_of(reduced_.texture, h)) {
                into.textures.add(*code);
                into.grain_sizes.push_back(static_cast<std::uint32_t>(*code));
            }
            if (survey_.horizons[h].fragments_pct) into.fragments_pct.push_back(*survey_.horizons[h].fragments_pct);
            if (const auto code = code_of(reduced_.fragment_kind, h)) into.fragment_kinds.add(*code);
        }
        if (strongest > 0) into.reaction.add(strongest - 1);
        if (Sequence sequence = sequence_of(survey_, stop); !sequence.horizons.empty()) into.sequences.push_back(std::move(sequence));
        // What is only inferred below the hole counts as what is sure: deeper than the hole.
        const field::RockDepth rock = model::rock_depth(survey_, reduced_, s);
        if (rock.basis == field::RockDepth::Basis::unknown) return;
        into.rock.push_back({rock.reached() ? *rock.depth_cm : rock.low_cm, rock.reached()});
        if (rock.weathered_cm) into.weathered_rock.push_back({*rock.weathered_cm, true});
        else if (!rock.reached()) into.weathered_rock.push_back({rock.low_cm, false});
    }

    const std::string& moist_chip(std::size_t code) const { return moist_[code]; }
    const std::string& dry_chip(std::size_t code) const { return dry_[code]; }

private:
    template <class Value>
    static std::optional<std::size_t> code_of(const model::Coded<Value>& coded, std::size_t h) {
        return coded.codes[h] >= 0 ? std::optional(static_cast<std::size_t>(coded.codes[h])) : std::nullopt;
    }
    static std::size_t strength(const std::string& code) {
        const auto classes = field::effervescence_classes();
        return static_cast<std::size_t>(
            std::find_if(classes.begin(), classes.end(), [&](const auto& c) { return c.code == code; }) - classes.begin());
    }

    const model::Survey& survey_;
    const model::Reduced& reduced_;
    std::vector<std::string> moist_, dry_;  ///< chip of each distinct value
    std::vector<std::size_t> strengths_;    ///< of each distinct reaction
};

/// Moments of a mixture in which each grain size has the same share.
std::optional<field::IlrDistribution> mixture(const std::vector<std::uint32_t>& codes, const std::vector<model::TextureValue>& textures) {
    if (codes.empty()) return std::nullopt;
    field::IlrDistribution all;
    const double share = 1 / static_cast<double>(codes.size());
    for (const std::uint32_t code : codes)
        for (std::size_t i = 0; i < 2; ++i) all.mean[i] += share * textures[code].distribution.mean[i];
    for (const std::uint32_t code : codes) {
        const field::IlrDistribution& part = textures[code].distribution;
        const double x = part.mean[0] - all.mean[0], y = part.mean[1] - all.mean[1];
        all.covariance[0] += share * (part.covariance[0] + x * x);
        all.covariance[1] += share * (part.covariance[1] + x * y);
        all.covariance[2] += share * (part.covariance[2] + y * y);
    }
    return all;
}

void count_contacts(const geo::UnitMap& map, const Fit& fit, const Relocation& relocation, std::vector<UnitSummary>& units) {
    for (std::size_t i = 0; i < map.contacts().size(); ++i) {
        const geo::Contact& contact = map.contacts()[i];
        const Review review = review_of(fit, relocation, i);
        for (const model::UnitIndex unit : {contact.unit_a, contact.unit_b}) {
            ContactsKnown& known = units[static_cast<std::size_t>(unit)].contacts;
            ++known.contacts;
            known.length_m += contact.length_m;
            known.length_of_class_m[static_cast<std::size_t>(relocation.contacts[i].location)] += contact.length_m;
            if (!relocation.contacts[i].stretches.empty() || review == Review::shift) ++known.elsewhere;
            else if (review == Review::doubtful) ++known.doubtful;
            else if (review == Review::untested) ++known.untested;
        }
    }
}

}  // namespace

std::vector<UnitSummary> summarise_units(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map,
                                         const Fit& fit, const Relocation& relocation) {
    std::vector<UnitSummary> summaries(survey.units.size());
    std::vector<Gathered> gathered(survey.units.size());
    std::vector<PlantSite> sites;
    for (std::size_t u = 0; u < summaries.size(); ++u) {
        summaries[u].unit = static_cast<model::UnitIndex>(u);
        summaries[u].without_draft = fit.without_draft;
        summaries[u].area_m2 = map.unit_areas_m2()[u];
    }
    const Gatherer gatherer(survey, reduced);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
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
        const model::UnitIndex below = stop.unit_seen != model::no_unit ? stop.unit_seen : stands_on;
        if (below != model::no_unit)
            gathered[static_cast<std::size_t>(below)].parent_materials.add(static_cast<std::size_t>(reduced.parent_material[s]));
        const model::UnitIndex told = told_unit(stop, judged);
        if (told == model::no_unit) continue;
        gatherer.gather(s, gathered[static_cast<std::size_t>(told)]);
        if (reduced.plants.codes[s] >= 0) sites.push_back({told, static_cast<std::size_t>(reduced.plants.codes[s])});
    }
    const std::vector<std::string> plants = indicating_plants(sites, reduced, survey.units.size(), survey.settings.seed);
    const std::vector<Confusion> mistaken = confusions(*fit.reckoning);
    for (std::size_t u = 0; u < summaries.size(); ++u) {
        UnitSummary& summary = summaries[u];
        const Gathered& from = gathered[u];
        summary.moist = summarise_colours(from.moist.by_name([&](std::size_t code) { return gatherer.moist_chip(code); }));
        summary.dry = summarise_colours(from.dry.by_name([&](std::size_t code) { return gatherer.dry_chip(code); }));
        summary.texture = {tally(from.textures.by_name([&](std::size_t code) { return reduced.texture.values[code].name; })),
                           mixture(from.grain_sizes, reduced.texture.values)};
        summary.fragments = summarise_fragments(from.fragments_pct, from.fragment_kinds.by_name([&](std::size_t code) { return reduced.fragment_kind.values[code]; }));
        summary.reaction = tally(from.reaction.by_name([](std::size_t strength) { return field::effervescence_classes()[strength].code; }));
        summary.profile = summarise_profiles(from.sequences);
        summary.weathered_rock = summarise_depths(from.weathered_rock);
        summary.rock = summarise_depths(from.rock);
        summary.plants = plants[u];
        summary.parent_materials = tally(from.parent_materials.by_name([](std::size_t kind) { return to_string(static_cast<field::ParentMaterial>(kind)); }));
        summary.mistaken = mistaken[u];
    }
    count_contacts(map, fit, relocation, summaries);
    return summaries;
}

}  // namespace subcrop::infer

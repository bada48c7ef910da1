#include "subcrop/infer/unit_summary.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <utility>

#include "censored_median.hpp"
#include "subcrop/infer/indicator_value.hpp"

namespace subcrop::infer {

namespace {

using Counts = std::map<std::string, std::size_t>;

/// A stop whose plants were noted and that tells of a unit.
struct Site {
    model::UnitIndex unit;
    std::size_t plants;  ///< index into Reduced::plants.values
};

/// The unit a stop tells of: the rock seen, else the drafted one, where soil and place allow.
model::UnitIndex told_unit(const model::Stop& stop, const StopFit& fit) {
    if (stop.unit_seen != model::no_unit) return stop.unit_seen;
    if (fit.verdict == Verdict::transported || fit.verdict == Verdict::off_map) return model::no_unit;
    return fit.mapped_unit;
}

/// The three commonest with their shares: "7.5YR 4/4 (38 % of 21), 10YR 4/4 (19 %)".
std::string commonest(const Counts& counts) {
    std::vector<std::pair<std::string, std::size_t>> list(counts.begin(), counts.end());
    std::stable_sort(list.begin(), list.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
    std::size_t total = 0;
    for (const auto& [name, count] : list) total += count;
    std::string text;
    for (std::size_t i = 0; i < std::min<std::size_t>(3, list.size()); ++i) {
        const auto percent = std::lround(100.0 * static_cast<double>(list[i].second) / static_cast<double>(total));
        text += (i > 0 ? ", " : "") + list[i].first + " (" + std::to_string(percent) + " %" +
                (i == 0 ? " of " + std::to_string(total) : "") + ')';
    }
    return text;
}

struct Gathered {
    Counts moist, dry, textures;
    std::vector<Depth> rock_depths;
};

void gather_stop(const model::Survey& survey, const model::Reduced& reduced, std::size_t s, Gathered& into) {
    const model::Stop& stop = survey.stops[s];
    for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
        const std::size_t h = stop.first_horizon + k;
        if (reduced.zone[h] == field::Zone::subsoil) {
            if (reduced.colour_moist.codes[h] >= 0) ++into.moist[reduced.colour_moist.values[static_cast<std::size_t>(reduced.colour_moist.codes[h])].notation];
            if (reduced.colour_dry.codes[h] >= 0) ++into.dry[reduced.colour_dry.values[static_cast<std::size_t>(reduced.colour_dry.codes[h])].notation];
            if (reduced.texture.codes[h] >= 0) ++into.textures[reduced.texture.values[static_cast<std::size_t>(reduced.texture.codes[h])].name];
        }
    }
    // What is only inferred below the hole counts as what is sure: deeper than the hole.
    const field::RockDepth rock = model::rock_depth(survey, reduced, s);
    if (rock.reached()) into.rock_depths.push_back({*rock.depth_cm, true});
    else if (rock.basis != field::RockDepth::Basis::unknown) into.rock_depths.push_back({rock.low_cm, false});
}

/// Sites beyond this many teach nothing more of which plants tell units apart.
constexpr std::size_t most_sites = 20000;
/// A taxon is named where no more than one in twenty of those named would be there by chance.
constexpr double plants_false_discovery_rate = 0.05;
constexpr std::size_t fewest_sites = 3;

/// For each unit the taxa that indicate it, the strongest three: "heather (IndVal 0.62, p 0.004)". A taxon not named at a stop
/// counts as absent there, whether or not the list is complete: an observer's habits are the same over every unit.
std::vector<std::string> indicating_plants(const std::vector<Site>& all_sites, const model::Reduced& reduced,
                                           std::size_t units, std::uint64_t seed) {
    std::vector<std::string> texts(units);
    const std::size_t stride = std::max<std::size_t>(1, (all_sites.size() + most_sites - 1) / most_sites);
    std::vector<Site> sites;
    std::vector<std::size_t> sizes(units, 0);
    for (std::size_t i = 0; i < all_sites.size(); i += stride) ++sizes[static_cast<std::size_t>(all_sites[i].unit)];
    for (std::size_t i = 0; i < all_sites.size(); i += stride) {
        if (sizes[static_cast<std::size_t>(all_sites[i].unit)] >= fewest_sites) sites.push_back(all_sites[i]);
    }
    std::map<std::string, std::uint32_t> numbers;
    TaxonTable table{.groups = units, .taxa = 0, .group_of_site = {}, .found = {}};
    for (const Site& site : sites) {
        table.group_of_site.push_back(static_cast<std::uint32_t>(site.unit));
        auto& found = table.found.emplace_back();
        for (const std::string& taxon : reduced.plants.values[site.plants]) {
            found.emplace_back(numbers.try_emplace(taxon, static_cast<std::uint32_t>(numbers.size())).first->second, 1.0);
        }
    }
    table.taxa = numbers.size();
    if (std::count_if(sizes.begin(), sizes.end(), [](std::size_t n) { return n >= fewest_sites; }) < 2) return texts;
    IndicatorOptions options;
    options.seed = seed;
    const std::vector<TaxonIndicator> indicators = indicator_values(table, options);

    std::vector<std::vector<std::pair<std::string, TaxonIndicator>>> of_unit(units);
    for (const auto& [taxon, number] : numbers) {
        const TaxonIndicator& indicator = indicators[number];
        if (indicator.q <= plants_false_discovery_rate) of_unit[indicator.best_group].emplace_back(taxon, indicator);
    }
    for (std::size_t u = 0; u < units; ++u) {
        std::stable_sort(of_unit[u].begin(), of_unit[u].end(),
                         [u](const auto& a, const auto& b) { return a.second.value[u] > b.second.value[u]; });
        for (std::size_t i = 0; i < std::min<std::size_t>(3, of_unit[u].size()); ++i) {
            const auto& [taxon, indicator] = of_unit[u][i];
            std::array<char, 64> figures{};
            std::snprintf(figures.data(), figures.size(), " (IndVal %.2f, p %.3f)", indicator.value[u], indicator.p);
            texts[u] += (i > 0 ? ", " : "") + taxon + figures.data();
        }
    }
    return texts;
}

}  // namespace

std::vector<UnitSummary> summarise_units(const model::Survey& survey, const model::Reduced& reduced,
                                         const geo::UnitMap& map, const Fit& fit) {
    std::vector<UnitSummary> summaries(survey.units.size());
    std::vector<Gathered> gathered(survey.units.size());
    std::vector<Site> sites;
    for (std::size_t u = 0; u < summaries.size(); ++u) {
        summaries[u].unit = static_cast<model::UnitIndex>(u);
        summaries[u].area_m2 = map.unit_areas_m2()[u];
    }
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const model::Stop& stop = survey.stops[s];
        const StopFit& judged = fit.stops[s];
        if (judged.mapped_unit != model::no_unit) {
            UnitSummary& mapped = summaries[static_cast<std::size_t>(judged.mapped_unit)];
            ++mapped.stops;
            if (judged.verdict == Verdict::agrees) ++mapped.stops_agree;
            if (judged.verdict == Verdict::conflicts) ++mapped.stops_conflict;
        }
        if (stop.unit_seen != model::no_unit) ++summaries[static_cast<std::size_t>(stop.unit_seen)].stops_rock_seen;
        const model::UnitIndex told = told_unit(stop, judged);
        if (told == model::no_unit) continue;
        gather_stop(survey, reduced, s, gathered[static_cast<std::size_t>(told)]);
        if (reduced.plants.codes[s] >= 0) sites.push_back({told, static_cast<std::size_t>(reduced.plants.codes[s])});
    }
    const std::vector<std::string> plants = indicating_plants(sites, reduced, survey.units.size(), survey.settings.seed);
    for (std::size_t u = 0; u < summaries.size(); ++u) {
        summaries[u].colours_moist = commonest(gathered[u].moist);
        summaries[u].colours_dry = commonest(gathered[u].dry);
        summaries[u].textures = commonest(gathered[u].textures);
        summaries[u].plants = plants[u];
        const auto& depths = gathered[u].rock_depths;
        summaries[u].rock_depths = static_cast<std::size_t>(
            std::count_if(depths.begin(), depths.end(), [](const Depth& depth) { return depth.reached; }));
        summaries[u].rock_depth_median_cm = censored_median(depths);
    }
    return summaries;
}

}  // namespace subcrop::infer

#include "subcrop/infer/unit_summary.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace subcrop::infer {

namespace {

using Counts = std::map<std::string, std::size_t>;

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
    Counts moist, dry, textures, plants;
    std::size_t with_plants = 0;
    std::vector<double> rock_depths;
};

void gather_stop(const model::Survey& survey, const model::Reduced& reduced, std::size_t s, Gathered& into) {
    const model::Stop& stop = survey.stops[s];
    std::optional<double> rock;
    for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
        const std::size_t h = stop.first_horizon + k;
        if (reduced.zone[h] == field::Zone::subsoil) {
            if (reduced.colour_moist.codes[h] >= 0) ++into.moist[reduced.colour_moist.values[static_cast<std::size_t>(reduced.colour_moist.codes[h])].notation];
            if (reduced.colour_dry.codes[h] >= 0) ++into.dry[reduced.colour_dry.values[static_cast<std::size_t>(reduced.colour_dry.codes[h])].notation];
            if (reduced.texture.codes[h] >= 0) ++into.textures[reduced.texture.values[static_cast<std::size_t>(reduced.texture.codes[h])].name];
        }
        const model::Horizon& horizon = survey.horizons[h];
        const bool weathered = horizon.designation.str().find("Cr") != std::string::npos;
        if ((reduced.zone[h] == field::Zone::rock || weathered) && horizon.top_cm) {
            rock = std::min(rock.value_or(*horizon.top_cm), *horizon.top_cm);
        }
    }
    if (rock) into.rock_depths.push_back(*rock);
    if (reduced.plants.codes[s] >= 0) {
        ++into.with_plants;
        for (const std::string& taxon : reduced.plants.values[static_cast<std::size_t>(reduced.plants.codes[s])]) ++into.plants[taxon];
    }
}

/// Taxa commoner here than elsewhere by two standard errors of the difference in share, the strongest three.
std::string indicating_plants(const Gathered& here, const Gathered& all) {
    struct Taxon {
        std::string name;
        std::size_t in, out;
        double z;
    };
    std::vector<Taxon> taxa;
    const double n = static_cast<double>(here.with_plants);
    const double m = static_cast<double>(all.with_plants - here.with_plants);
    if (n < 3 || m < 3) return {};
    for (const auto& [name, count] : here.plants) {
        const std::size_t out = all.plants.at(name) - count;
        const double p = static_cast<double>(count) / n, q = static_cast<double>(out) / m;
        const double pooled = static_cast<double>(count + out) / (n + m);
        const double error = std::sqrt(pooled * (1 - pooled) * (1 / n + 1 / m));
        if (error > 0 && p - q > 2 * error) taxa.push_back({name, count, out, (p - q) / error});
    }
    std::stable_sort(taxa.begin(), taxa.end(), [](const Taxon& a, const Taxon& b) { return a.z > b.z; });
    std::string text;
    for (std::size_t i = 0; i < std::min<std::size_t>(3, taxa.size()); ++i) {
        text += (i > 0 ? ", " : "") + taxa[i].name + " (" + std::to_string(taxa[i].in) + " of " +
                std::to_string(here.with_plants) + "; elsewhere " + std::to_string(taxa[i].out) + " of " +
                std::to_string(all.with_plants - here.with_plants) + ')';
    }
    return text;
}

std::optional<double> median(std::vector<double> values) {
    if (values.empty()) return std::nullopt;
    std::sort(values.begin(), values.end());
    const std::size_t half = values.size() / 2;
    return values.size() % 2 ? values[half] : (values[half - 1] + values[half]) / 2;
}

}  // namespace

std::vector<UnitSummary> summarise_units(const model::Survey& survey, const model::Reduced& reduced,
                                         const geo::UnitMap& map, const Fit& fit) {
    std::vector<UnitSummary> summaries(survey.units.size());
    std::vector<Gathered> gathered(survey.units.size());
    Gathered all;
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
    }
    for (const Gathered& unit : gathered) {
        all.with_plants += unit.with_plants;
        for (const auto& [taxon, count] : unit.plants) all.plants[taxon] += count;
    }
    for (std::size_t u = 0; u < summaries.size(); ++u) {
        summaries[u].colours_moist = commonest(gathered[u].moist);
        summaries[u].colours_dry = commonest(gathered[u].dry);
        summaries[u].textures = commonest(gathered[u].textures);
        summaries[u].plants = indicating_plants(gathered[u], all);
        summaries[u].rock_depth_median_cm = median(gathered[u].rock_depths);
        summaries[u].rock_depths = gathered[u].rock_depths.size();
    }
    return summaries;
}

}  // namespace subcrop::infer

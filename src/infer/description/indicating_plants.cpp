#include "infer/description/indicating_plants.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <map>
#include <utility>

#include "subcrop/infer/indicator_value.hpp"

namespace subcrop::infer {

namespace {

/// More sites than this would not show better which plants distinguish units.
constexpr std::size_t max_sites = 20000;
/// Taxa are named at a false discovery rate of one in twenty.
constexpr double plants_false_discovery_rate = 0.05;
constexpr std::size_t fewest_sites = 3;

}  // namespace

std::string plant_words(const std::vector<IndicatingPlant>& plants) {
    std::string words;
    for (const IndicatingPlant& plant : plants) {
        std::array<char, 80> figures{};
        std::snprintf(figures.data(), figures.size(), " (IndVal %.2f, p %.3f, corrected %.3f)", plant.value, plant.p,
                      plant.corrected_p);
        words += (words.empty() ? "" : ", ") + plant.taxon + figures.data();
    }
    return words;
}

std::vector<std::vector<IndicatingPlant>> indicating_plants(const std::vector<PlantSite>& all_sites,
                                                            const model::Reduced& reduced, std::size_t units,
                                                            std::uint64_t seed) {
    std::vector<std::vector<IndicatingPlant>> named(units);
    const std::size_t stride = std::max<std::size_t>(1, (all_sites.size() + max_sites - 1) / max_sites);
    std::vector<PlantSite> sites;
    std::vector<std::size_t> sizes(units, 0);
    for (std::size_t i = 0; i < all_sites.size(); i += stride) ++sizes[static_cast<std::size_t>(all_sites[i].unit)];
    for (std::size_t i = 0; i < all_sites.size(); i += stride) {
        if (sizes[static_cast<std::size_t>(all_sites[i].unit)] >= fewest_sites) sites.push_back(all_sites[i]);
    }
    std::map<std::string, std::uint32_t> numbers;
    TaxonTable table{.groups = units, .taxa = 0, .group_of_site = {}, .found = {}};
    for (const PlantSite& site : sites) {
        table.group_of_site.push_back(static_cast<std::uint32_t>(site.unit));
        auto& found = table.found.emplace_back();
        for (const std::string& taxon : reduced.plants.values[site.plants]) {
            found.emplace_back(numbers.try_emplace(taxon, static_cast<std::uint32_t>(numbers.size())).first->second,
                               1.0);
        }
    }
    table.taxa = numbers.size();
    if (std::count_if(sizes.begin(), sizes.end(), [](std::size_t n) { return n >= fewest_sites; }) < 2) return named;
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
            named[u].push_back({taxon, indicator.value[u], indicator.p, indicator.q});
        }
    }
    return named;
}

}  // namespace subcrop::infer

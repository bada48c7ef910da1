// Which taxa distinguish the units: the indicator value of every taxon for every group of sites.
//
//     TaxonTable table;
//     table.groups = 3;
//     table.taxa = 2;
//     table.group_of_site = {0, 0, 1, 2};
//     table.found = {{{0, 1.0}}, {{0, 1.0}, {1, 1.0}}, {}, {{1, 1.0}}};  // taxon and abundance, site by site
//     std::vector<TaxonIndicator> found = indicator_values(table);
//     std::size_t group = found[0].best_group;  // 0
//     double p = found[0].p;                    // how often chance does as well
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct TaxonTable {
    std::size_t groups = 0;
    std::size_t taxa = 0;
    std::vector<std::uint32_t> group_of_site;  ///< below `groups`
    /// For each site its taxa, each once, with abundance above 0. Presence alone is abundance 1.
    std::vector<std::vector<std::pair<std::uint32_t, double>>> found;
};

struct IndicatorOptions {
    std::size_t permutations = 999;
    std::uint64_t seed = 1;
    /// If there are no more assignments of sites to groups (of the same sizes) than this, all are tried.
    std::size_t max_exact = 10000;
};

struct TaxonIndicator {
    std::vector<double> value;   ///< for each group, 0..1
    std::size_t best_group = 0;  ///< of the greatest value; the first of equals
    double p = 1;                ///< share of permutations with a greatest value at least as high
    double q = 1;                ///< p corrected for the number of taxa (Benjamini and Hochberg 1995)
};

/// Indicator value A B of Dufrene and Legendre 1997, Ecological Monographs 67:345-366. A: the taxon's mean abundance in
/// the group over the sum of its mean abundances in all groups. B: the share of the group's sites where it is. Groups
/// without sites are ignored. One result for each taxon. p is never 0, because the real assignment is counted too. The
/// result depends on the seed, not on the order of the taxa.
std::vector<TaxonIndicator> indicator_values(const TaxonTable& table, const IndicatorOptions& options = {});

/// Benjamini and Hochberg 1995, Journal of the Royal Statistical Society B 57:289-300: the smallest false discovery
/// rate at which each p is accepted.
std::vector<double> false_discovery_rates(const std::vector<double>& p);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

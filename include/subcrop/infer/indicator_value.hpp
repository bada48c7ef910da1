// Which taxa tell the units apart: the indicator value of every taxon for every group of sites.
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
    /// For each site its taxa, each once, with their abundance above 0; presence alone is an abundance of 1.
    std::vector<std::vector<std::pair<std::uint32_t, double>>> found;
};

struct IndicatorOptions {
    std::size_t permutations = 999;
    std::uint64_t seed = 1;
    /// All assignments of the sites to groups of their sizes are gone through where they are no more than this.
    std::size_t max_exact = 10000;
};

struct TaxonIndicator {
    std::vector<double> value;   ///< for each group, 0..1
    std::size_t best_group = 0;  ///< the first of the greatest
    double p = 1;  ///< share of assignments of the sites to the groups whose greatest value is no less than this one's
    double q = 1;  ///< the same, corrected for so many taxa having been tried (Benjamini and Hochberg 1995)
};

/// Indicator value A B of Dufrene and Legendre 1997, Ecological Monographs 67:345-366. A: the taxon's mean abundance in
/// the group over the sum of its mean abundances in all groups. B: the share of the group's sites where it is. Groups
/// without a site count for nothing. One a taxon. p never reaches 0: the assignment met is one of those counted.
/// Depends on the seed only, not on the order of the taxa.
std::vector<TaxonIndicator> indicator_values(const TaxonTable& table, const IndicatorOptions& options = {});

/// Benjamini and Hochberg 1995, Journal of the Royal Statistical Society B 57:289-300: the least false discovery rate
/// at which each p would be taken.
std::vector<double> false_discovery_rates(const std::vector<double>& p);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END

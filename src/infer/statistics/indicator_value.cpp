#include "subcrop/infer/indicator_value.hpp"

#include <algorithm>
#include <cassert>
#include <numeric>
#include <random>

namespace subcrop::infer {

namespace {

/// One taxon's indicator values from its sums in each group.
class Statistic {
public:
    Statistic(const TaxonTable& table) : table_(table), size_(table.groups, 0.0) {
        for (const std::uint32_t g : table.group_of_site) size_[g] += 1;
        for (std::size_t s = 0; s < table.found.size(); ++s) {
            for (const auto& [taxon, abundance] : table.found[s]) entries_.push_back({s, taxon, abundance});
        }
        abundance_.resize(table.taxa * table.groups);
        presence_.resize(table.taxa * table.groups);
    }

    void count(const std::vector<std::uint32_t>& group_of_site) {
        std::fill(abundance_.begin(), abundance_.end(), 0.0);
        std::fill(presence_.begin(), presence_.end(), 0.0);
        for (const Entry& entry : entries_) {
            const std::size_t cell = entry.taxon * table_.groups + group_of_site[entry.site];
            abundance_[cell] += entry.abundance;
            presence_[cell] += 1;
        }
    }

    double value(std::size_t taxon, std::size_t group) const {
        double means = 0;
        for (std::size_t g = 0; g < table_.groups; ++g) means += mean(taxon, g);
        if (means <= 0 || size_[group] <= 0) return 0;
        return mean(taxon, group) / means * presence_[taxon * table_.groups + group] / size_[group];
    }

    double greatest(std::size_t taxon) const {
        double means = 0, best = 0;
        for (std::size_t g = 0; g < table_.groups; ++g) means += mean(taxon, g);
        if (means <= 0) return 0;
        for (std::size_t g = 0; g < table_.groups; ++g) {
            if (size_[g] <= 0) continue;
            best = std::max(best, mean(taxon, g) / means * presence_[taxon * table_.groups + g] / size_[g]);
        }
        return best;
    }

private:
    struct Entry {
        std::size_t site;
        std::uint32_t taxon;
        double abundance;
    };

    double mean(std::size_t taxon, std::size_t group) const {
        return size_[group] > 0 ? abundance_[taxon * table_.groups + group] / size_[group] : 0.0;
    }

    const TaxonTable& table_;
    std::vector<double> size_;
    std::vector<Entry> entries_;
    std::vector<double> abundance_, presence_;
};

/// Whether the distinct assignments are at most `most`: n! over the factorials of the groups' sizes, as a product of
/// binomials.
bool few_assignments(const TaxonTable& table, std::size_t most) {
    std::vector<std::size_t> sizes(table.groups, 0);
    for (const std::uint32_t g : table.group_of_site) ++sizes[g];
    double count = 1, placed = 0;
    for (const std::size_t size : sizes) {
        for (std::size_t k = 1; k <= size; ++k) {
            placed += 1;
            count *= placed / static_cast<double>(k);
            if (count > static_cast<double>(most) + 0.5) return false;  // it never falls again: placed >= k
        }
    }
    return true;
}

/// A shuffle that is the same on every machine; std::shuffle need not be.
void shuffle(std::vector<std::uint32_t>& values, std::mt19937_64& engine) {
    for (std::size_t i = values.size(); i > 1; --i) {
        const std::uint64_t limit = engine.max() - engine.max() % i;
        std::uint64_t draw = engine();
        while (draw >= limit) draw = engine();
        std::swap(values[i - 1], values[draw % i]);
    }
}

}  // namespace

std::vector<double> false_discovery_rates(const std::vector<double>& p) {
    std::vector<std::size_t> order(p.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return p[a] > p[b]; });
    std::vector<double> q(p.size(), 1.0);
    double least = 1;
    for (std::size_t i = 0; i < order.size(); ++i) {
        const double rank = static_cast<double>(order.size() - i);
        least = std::min(least, p[order[i]] * static_cast<double>(order.size()) / rank);
        q[order[i]] = least;
    }
    return q;
}

std::vector<TaxonIndicator> indicator_values(const TaxonTable& table, const IndicatorOptions& options) {
    assert(table.group_of_site.size() == table.found.size());
    std::vector<TaxonIndicator> result(table.taxa);
    Statistic statistic(table);
    statistic.count(table.group_of_site);
    std::vector<double> met(table.taxa);
    for (std::size_t t = 0; t < table.taxa; ++t) {
        for (std::size_t g = 0; g < table.groups; ++g) result[t].value.push_back(statistic.value(t, g));
        const auto best = std::max_element(result[t].value.begin(), result[t].value.end());
        result[t].best_group = static_cast<std::size_t>(best - result[t].value.begin());
        met[t] = statistic.greatest(t) * (1 - 1e-9);  // equal values may differ in the last bit
    }
    std::vector<std::size_t> as_good(table.taxa, 0);
    std::size_t assignments = 0;
    auto compare = [&](const std::vector<std::uint32_t>& groups) {
        statistic.count(groups);
        ++assignments;
        for (std::size_t t = 0; t < table.taxa; ++t) as_good[t] += statistic.greatest(t) >= met[t] ? 1 : 0;
    };
    std::vector<std::uint32_t> groups = table.group_of_site;
    if (few_assignments(table, options.max_exact)) {
        std::sort(groups.begin(), groups.end());
        do compare(groups);
        while (std::next_permutation(groups.begin(), groups.end()));
    } else {
        compare(groups);
        std::mt19937_64 engine(options.seed);
        for (std::size_t i = 0; i < options.permutations; ++i) {
            shuffle(groups, engine);
            compare(groups);
        }
    }
    std::vector<double> p;
    for (std::size_t t = 0; t < table.taxa; ++t) {
        result[t].p = static_cast<double>(as_good[t]) / static_cast<double>(assignments);
        p.push_back(result[t].p);
    }
    const std::vector<double> q = false_discovery_rates(p);
    for (std::size_t t = 0; t < table.taxa; ++t) result[t].q = q[t];
    return result;
}

}  // namespace subcrop::infer

#include "subcrop/infer/indicator_value.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "field/figures.hpp"

namespace subcrop::infer {
namespace {

/// The sites of tests/reference/indicator_values.csv.
TaxonTable reference_sites() {
    TaxonTable table{.groups = 3, .taxa = 6, .group_of_site = {}, .found = {}};
    for (const figures::Row& row : figures::read("indicator_values.csv")) {
        if (row.text("kind") != "site") continue;
        table.group_of_site.push_back(static_cast<std::uint32_t>(row.number("group")) - 1);
        auto& found = table.found.emplace_back();
        for (std::uint32_t t = 0; t < 6; ++t) {
            const double abundance = row.number("f" + std::to_string(t + 1));
            if (abundance > 0) found.emplace_back(t, abundance);
        }
    }
    return table;
}

std::vector<figures::Row> reference_taxa() {
    std::vector<figures::Row> taxa;
    for (const figures::Row& row : figures::read("indicator_values.csv")) {
        if (row.text("kind") == "taxon") taxa.push_back(row);
    }
    return taxa;
}

TEST(IndicatorValue, IsThatOfLabdsvAndItsPTheExactOne) {
    const auto found = indicator_values(reference_sites());
    const auto expected = reference_taxa();
    ASSERT_EQ(found.size(), 6u);
    for (std::size_t t = 0; t < 6; ++t) {
        for (std::size_t g = 0; g < 3; ++g) {
            EXPECT_NEAR(found[t].value[g], expected[t].number("f" + std::to_string(g + 1)), 1e-10) << t << ' ' << g;
        }
        EXPECT_EQ(found[t].best_group + 1, static_cast<std::size_t>(expected[t].number("group")));
        EXPECT_NEAR(found[t].p, expected[t].number("f4") / 4200, 1e-12);
    }
}

TEST(IndicatorValue, DrawnPComesNearTheExactOne) {
    IndicatorOptions options;
    options.max_exact = 100;
    options.permutations = 20000;
    const auto found = indicator_values(reference_sites(), options);
    const auto expected = reference_taxa();
    for (std::size_t t = 0; t < 6; ++t) {
        const double exact = expected[t].number("f4") / 4200;
        EXPECT_NEAR(found[t].p, exact, 4 * std::sqrt(exact * (1 - exact) / 20000) + 1e-4);  // four standard errors
    }
    options.permutations = 99;
    const auto few = indicator_values(reference_sites(), options);
    for (const TaxonIndicator& taxon : few) EXPECT_GE(taxon.p, 0.01);  // chance is never ruled out
}

TEST(IndicatorValue, PresencesAlone) {
    TaxonTable table = reference_sites();
    for (auto& site : table.found) {
        for (auto& [taxon, abundance] : site) abundance = 1;
    }
    // sp2 is at 1 of 4, 3 of 3 and 1 of 3 sites: 1 / (1/4 + 1 + 1/3) x 1 (R labdsv 2.0.1 gives the same).
    EXPECT_NEAR(indicator_values(table)[1].value[1], 0.6315789474, 1e-10);
}

TEST(IndicatorValue, OrderOfTaxaAndSitesChangesNothing) {
    TaxonTable table = reference_sites();
    const auto before = indicator_values(table);
    TaxonTable turned = table;
    std::reverse(turned.found.begin(), turned.found.end());
    std::reverse(turned.group_of_site.begin(), turned.group_of_site.end());
    for (auto& site : turned.found) {
        for (auto& [taxon, abundance] : site) taxon = 5 - taxon;
    }
    const auto after = indicator_values(turned);
    for (std::size_t t = 0; t < 6; ++t) {
        EXPECT_EQ(before[t].best_group, after[5 - t].best_group);
        EXPECT_DOUBLE_EQ(before[t].p, after[5 - t].p);
        EXPECT_DOUBLE_EQ(before[t].q, after[5 - t].q);
        for (std::size_t g = 0; g < 3; ++g) EXPECT_NEAR(before[t].value[g], after[5 - t].value[g], 1e-14);
    }
}

TEST(IndicatorValue, TaxaScatteredByChanceAreSeldomTaken) {
    std::mt19937 engine(11);
    TaxonTable table{.groups = 4, .taxa = 200, .group_of_site = {}, .found = {}};
    for (std::uint32_t s = 0; s < 80; ++s) {
        table.group_of_site.push_back(s % 4);
        auto& found = table.found.emplace_back();
        for (std::uint32_t t = 0; t < table.taxa; ++t) {
            if (std::bernoulli_distribution(0.3)(engine)) found.emplace_back(t, 1.0);
        }
    }
    const auto indicators = indicator_values(table);
    const auto small = std::count_if(indicators.begin(), indicators.end(), [](const auto& t) { return t.p <= 0.05; });
    EXPECT_LE(small, 20);  // 10 expected, standard deviation 3.1
    EXPECT_EQ(std::count_if(indicators.begin(), indicators.end(), [](const auto& t) { return t.q <= 0.05; }), 0);
}

TEST(IndicatorValue, NoTaxaAndNoSites) {
    EXPECT_TRUE(indicator_values({.groups = 2, .taxa = 0, .group_of_site = {0, 1}, .found = {{}, {}}}).empty());
    const auto lone = indicator_values({.groups = 2, .taxa = 1, .group_of_site = {}, .found = {}});
    EXPECT_EQ(lone.at(0).p, 1.0);
}

TEST(FalseDiscoveryRates, AreTheStepUpOnes) {
    // R 4.2.2: p.adjust(c(0.01, 0.04, 0.03, 0.5), "BH")
    const std::vector<double> q = false_discovery_rates({0.01, 0.04, 0.03, 0.5});
    EXPECT_NEAR(q[0], 0.04, 1e-12);
    EXPECT_NEAR(q[1], 0.16 / 3, 1e-12);
    EXPECT_NEAR(q[2], 0.16 / 3, 1e-12);
    EXPECT_NEAR(q[3], 0.5, 1e-12);
}

}  // namespace
}  // namespace subcrop::infer

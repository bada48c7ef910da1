// Mean and covariance of ilr over each texture class's region of the triangle, by Gauss quadrature. The region is cut
// into trapezoids between levels of clay, on each of which the integrand is smooth: along the region's own edges and
// along the lines where the zero rule sets in.
#include <algorithm>
#include <array>
#include <boost/math/quadrature/gauss.hpp>
#include <cstddef>
#include <vector>

#include "subcrop/field/texture.hpp"

namespace subcrop::field {

namespace {

/// In percent; silt is the rest.
struct Corner {
    double sand;
    double clay;
};

// Corners of the classes' regions, from the limits of the Soil Survey Manual (2017).
const std::array<std::vector<Corner>, texture_class_count>& regions() {
    static const std::array<std::vector<Corner>, texture_class_count> all{{
        {{100, 0}, {85, 0}, {90, 10}},                                       // sand
        {{85, 0}, {70, 0}, {85, 15}, {90, 10}},                              // loamy sand
        {{70, 0}, {50, 0}, {43, 7}, {52, 7}, {52, 20}, {80, 20}, {85, 15}},  // sandy loam
        {{43, 7}, {23, 27}, {45, 27}, {52, 20}, {52, 7}},                    // loam
        {{50, 0}, {20, 0}, {8, 12}, {0, 12}, {0, 27}, {23, 27}, {43, 7}},    // silt loam
        {{20, 0}, {0, 0}, {0, 12}, {8, 12}},                                 // silt
        {{80, 20}, {52, 20}, {45, 27}, {45, 35}, {65, 35}},                  // sandy clay loam
        {{45, 27}, {20, 27}, {20, 40}, {45, 40}},                            // clay loam
        {{20, 27}, {0, 27}, {0, 40}, {20, 40}},                              // silty clay loam
        {{65, 35}, {45, 35}, {45, 55}},                                      // sandy clay
        {{20, 40}, {0, 40}, {0, 60}},                                        // silty clay
        {{45, 40}, {20, 40}, {0, 60}, {0, 100}, {45, 55}},                   // clay
    }};
    return all;
}

/// A straight line of sand against clay.
struct Side {
    double sand_at_0;
    double slope;
    double at(double clay) const { return sand_at_0 + slope * clay; }
};

// Where the zero rule sets in: sand 0.5 %, silt 0.5 %; clay 0.5 % is a level.
constexpr double min_part = 0.5;
constexpr Side sand_rule{min_part, 0.0};
constexpr Side silt_rule{100.0 - min_part, -1.0};

Side side(const Corner& a, const Corner& b) {
    const double slope = (b.sand - a.sand) / (b.clay - a.clay);
    return {a.sand - slope * a.clay, slope};
}

struct Sums {
    double area = 0;
    std::array<double, 2> first{};
    std::array<double, 3> second{};
};

/// Nodes and weights on [-1, 1]; Boost keeps the half that is not negative.
const std::vector<std::array<double, 2>>& gauss_nodes() {
    static const std::vector<std::array<double, 2>> nodes = [] {
        using Rule = boost::math::quadrature::gauss<double, 15>;
        std::vector<std::array<double, 2>> all;
        for (std::size_t i = 0; i < Rule::abscissa().size(); ++i) {
            const double x = Rule::abscissa()[i];
            const double weight = Rule::weights()[i];
            all.push_back({x, weight});
            if (x != 0.0) all.push_back({-x, weight});
        }
        return all;
    }();
    return nodes;
}

/// Integrates over clay from `low` to `high` and sand from `left` to `right`.
void integrate(double low, double high, const Side& left, const Side& right, Sums& sums) {
    for (const auto& [u, clay_weight] : gauss_nodes()) {
        const double clay = (low + high) / 2.0 + u * (high - low) / 2.0;
        const double width = right.at(clay) - left.at(clay);
        for (const auto& [v, sand_weight] : gauss_nodes()) {
            const double sand = left.at(clay) + (1.0 + v) * width / 2.0;
            const double weight = clay_weight * sand_weight * (high - low) * width / 4.0;
            const auto [y1, y2] = ilr({sand, std::max(0.0, 100.0 - sand - clay), clay});
            sums.area += weight;
            sums.first[0] += weight * y1;
            sums.first[1] += weight * y2;
            sums.second[0] += weight * y1 * y1;
            sums.second[1] += weight * y1 * y2;
            sums.second[2] += weight * y2 * y2;
        }
    }
}

IlrDistribution distribution_over(const std::vector<Corner>& region) {
    std::vector<std::array<Corner, 2>> edges;
    std::vector<double> levels{min_part, 100.0 - 2.0 * min_part};  // the second: where the two lines of the rule meet
    for (std::size_t i = 0; i < region.size(); ++i) {
        const Corner& a = region[i];
        const Corner& b = region[(i + 1) % region.size()];
        levels.push_back(a.clay);
        if (a.clay == b.clay) continue;
        edges.push_back({a, b});
        const Side edge = side(a, b);
        for (const Side& rule : {sand_rule, silt_rule})
            if (edge.slope != rule.slope)
                levels.push_back((rule.sand_at_0 - edge.sand_at_0) / (edge.slope - rule.slope));
    }
    const auto [lowest, highest] = std::minmax_element(
        region.begin(), region.end(), [](const Corner& a, const Corner& b) { return a.clay < b.clay; });
    std::erase_if(levels,
                  [least = lowest->clay, most = highest->clay](double clay) { return clay < least || clay > most; });
    std::sort(levels.begin(), levels.end());
    // Levels computed twice may differ in the last place: a strip so thin holds nothing.
    levels.erase(std::unique(levels.begin(), levels.end(), [](double a, double b) { return b - a < 1e-9; }),
                 levels.end());

    Sums sums;
    for (std::size_t i = 0; i + 1 < levels.size(); ++i) {
        const double low = levels[i];
        const double high = levels[i + 1];
        const double middle = (low + high) / 2.0;
        std::vector<Side> sides;
        for (const auto& [a, b] : edges)
            if (std::min(a.clay, b.clay) < middle && middle < std::max(a.clay, b.clay)) sides.push_back(side(a, b));
        const auto by_sand = [&](const Side& a, const Side& b) { return a.at(middle) < b.at(middle); };
        std::sort(sides.begin(), sides.end(), by_sand);
        for (std::size_t pair = 0; pair + 1 < sides.size(); pair += 2) {
            std::vector<Side> cuts{sides[pair]};
            for (const Side& rule : {sand_rule, silt_rule})
                if (by_sand(sides[pair], rule) && by_sand(rule, sides[pair + 1])) cuts.push_back(rule);
            cuts.push_back(sides[pair + 1]);
            std::sort(cuts.begin(), cuts.end(), by_sand);
            for (std::size_t cut = 0; cut + 1 < cuts.size(); ++cut)
                integrate(low, high, cuts[cut], cuts[cut + 1], sums);
        }
    }
    IlrDistribution result;
    result.mean = {sums.first[0] / sums.area, sums.first[1] / sums.area};
    result.covariance = {sums.second[0] / sums.area - result.mean[0] * result.mean[0],
                         sums.second[1] / sums.area - result.mean[0] * result.mean[1],
                         sums.second[2] / sums.area - result.mean[1] * result.mean[1]};
    return result;
}

}  // namespace

const IlrDistribution& class_distribution(TextureClass texture_class) {
    static const auto all = [] {
        std::array<IlrDistribution, texture_class_count> once;
        for (std::size_t i = 0; i < texture_class_count; ++i) once[i] = distribution_over(regions()[i]);
        return once;
    }();
    return all[static_cast<std::size_t>(texture_class)];
}

GrainSizeRange class_range(TextureClass texture_class) {
    GrainSizeRange range{{100, 100, 100}, {0, 0, 0}};
    for (const auto& [sand, clay] : regions()[static_cast<std::size_t>(texture_class)]) {
        const double silt = 100.0 - sand - clay;
        range.least = {std::min(range.least.sand, sand), std::min(range.least.silt, silt),
                       std::min(range.least.clay, clay)};
        range.greatest = {std::max(range.greatest.sand, sand), std::max(range.greatest.silt, silt),
                          std::max(range.greatest.clay, clay)};
    }
    return range;
}

}  // namespace subcrop::field

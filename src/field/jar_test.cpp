#include "subcrop/field/jar_test.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

#include "field/ilr_moments.hpp"
#include "field/words.hpp"

namespace subcrop::field {

namespace {

constexpr double gravity = 9.80665;  // standard, m/s2

constexpr double min_temperature_c = 0;
constexpr double max_temperature_c = 40;

/// Speed of fall in m/s of a grain of 1 m: times the square of its diameter.
double stokes_factor(double temperature_c) {
    return gravity * (grain_density - water_density(temperature_c)) / (18.0 * water_viscosity(temperature_c));
}

}  // namespace

double water_viscosity(double temperature_c) {
    assert(temperature_c >= min_temperature_c && temperature_c <= max_temperature_c);
    const double t = (temperature_c + 273.15) / 300.0;
    return 1e-6 * (280.68 * std::pow(t, -1.9) + 511.45 * std::pow(t, -7.7) + 61.131 * std::pow(t, -19.6) +
                   0.45903 * std::pow(t, -40.0));
}

double water_density(double temperature_c) {
    assert(temperature_c >= min_temperature_c && temperature_c <= max_temperature_c);
    constexpr double a1 = -3.983035, a2 = 301.797, a3 = 522528.9, a4 = 69.34881, a5 = 999.974950;
    const double t = temperature_c;
    return a5 * (1.0 - (t + a1) * (t + a1) * (t + a2) / (a3 * (t + a4)));
}

double settling_time_s(double diameter_mm, double fall_cm, double temperature_c) {
    assert(diameter_mm > 0.0);
    const double diameter_m = diameter_mm / 1000.0;
    return fall_cm / 100.0 / (stokes_factor(temperature_c) * diameter_m * diameter_m);
}

double settled_size_mm(double time_s, double fall_cm, double temperature_c) {
    assert(time_s > 0.0);
    return 1000.0 * std::sqrt(fall_cm / 100.0 / (stokes_factor(temperature_c) * time_s));
}

double grain_reynolds(double diameter_mm, double temperature_c) {
    const double diameter_m = diameter_mm / 1000.0;
    const double speed = stokes_factor(temperature_c) * diameter_m * diameter_m;
    return water_density(temperature_c) * speed * diameter_m / water_viscosity(temperature_c);
}

bool obeys_stokes(double diameter_mm, double temperature_c) {
    return grain_reynolds(diameter_mm, temperature_c) <= 0.25;
}

JarMarks jar_marks(double water_height_cm, double temperature_c) {
    return {settling_time_s(sand_limit_mm, water_height_cm, temperature_c),
            settling_time_s(silt_limit_mm, water_height_cm, temperature_c)};
}

namespace {

enum Part : std::size_t { sand, silt, clay };
using Parts = std::array<double, 3>;   // of sand, silt and clay
using Layers = std::array<double, 3>;  // of the lowest, middle and uppermost layer

// The figures that the header states.
constexpr Parts pores{0.40, 0.50, 0.80};
constexpr Parts pores_error{0.04, 0.06, 0.06};
constexpr double line_error_mm = 0.75;
constexpr double flocs = 0.10;
constexpr double flocs_error = 0.10;
// Of what Stokes' law sends into the layer of another part, half may go or stay; 3 % of the sand and silt always may.
constexpr double crossing_error = 0.5;
constexpr double min_crossing = 0.03;
// Clay below the cut of a stated last reading: half of it is taken as down in flocs, give or take.
constexpr double down_by_flocs = 0.5;
constexpr double down_by_flocs_error = 0.3;
constexpr std::array<std::array<double, 2>, 3> sizes_mm{{{0.05, 2.0}, {0.002, 0.05}, {0.0002, 0.002}}};

/// Share of a part that is down when all of size `cut` is: what is finer started anywhere in the water, so that the
/// share of a size d is (d/cut)^2. Sizes spread evenly over their logarithm.
double share_down(Part part, double cut_mm) {
    const auto [low, high] = sizes_mm[part];
    if (cut_mm <= low) return 1.0;
    const double upper = std::min(high, cut_mm);
    return (std::log(high / upper) + (upper * upper - low * low) / (2.0 * cut_mm * cut_mm)) / std::log(high / low);
}

/// What one unit of each part adds to the layers, and by how much that may be off.
struct JarModel {
    std::array<Layers, 3> thickness{};  ///< by part; mm for each mm of solid grains
    struct Doubt {
        Part part;
        Layers change;  ///< one standard error
    };
    std::vector<Doubt> doubts;
};

JarModel model_of(const JarReading& reading) {
    const auto cut = [&](double time_s) {
        return settled_size_mm(time_s, reading.water_height_cm, reading.temperature_c);
    };
    const double first_cut = cut(reading.sand_read_after_s.value_or(usual_sand_mark_s));
    const double second_cut = cut(reading.silt_read_after_s.value_or(usual_silt_mark_s));

    std::array<Layers, 3> shares{};
    for (const Part part : {sand, silt, clay}) {
        const double first = share_down(part, first_cut);
        const double second = share_down(part, second_cut);
        shares[part] = {first, second - first, 1.0 - second};
    }
    Layers of_flocs = shares[silt];
    Layers unsettled{};
    if (reading.clay_read_after_s) {
        const double below = std::min(shares[clay][2], 1.0 - share_down(clay, cut(*reading.clay_read_after_s)));
        unsettled[2] = below;
    }
    const Layers single = shares[clay];
    for (std::size_t i = 0; i < 3; ++i)
        shares[clay][i] = (1.0 - flocs) * (single[i] - (1.0 - down_by_flocs) * unsettled[i]) + flocs * of_flocs[i];

    JarModel model;
    for (const Part part : {sand, silt, clay}) {
        const double bulk = 1.0 / (1.0 - pores[part]);
        Layers packing{};
        for (std::size_t i = 0; i < 3; ++i) {
            model.thickness[part][i] = bulk * shares[part][i];
            packing[i] = model.thickness[part][i] * pores_error[part] * bulk;
        }
        model.doubts.push_back({part, packing});
        const auto doubt = [&](const Layers& change, double error) {
            model.doubts.push_back(
                {part, {bulk * error * change[0], bulk * error * change[1], bulk * error * change[2]}});
        };
        if (part == sand) doubt({-1, 1, 0}, std::max(min_crossing, crossing_error * (1.0 - shares[sand][0])));
        if (part == silt) {
            doubt({1, -1, 0}, std::max(min_crossing, crossing_error * shares[silt][0]));
            doubt({0, -1, 1}, std::max(min_crossing, crossing_error * shares[silt][2]));
        }
        if (part == clay) {
            Layers difference{};
            for (std::size_t i = 0; i < 3; ++i) difference[i] = of_flocs[i] - single[i];
            doubt(difference, flocs_error);
            if (reading.clay_read_after_s) doubt(unsettled, down_by_flocs_error);
        }
    }
    return model;
}

/// The layers that were measured.
struct Measured {
    std::array<std::size_t, 3> layer{};
    Layers mm{};
    std::size_t count = 0;
};

/// Logarithm of the likelihood of the thicknesses under mass fractions, the amount of soil being unknown.
double log_likelihood(const Measured& measured, const JarModel& model, const Parts& fractions) {
    Layers expected{};  // for each mm of solid grains
    double seen = 0, total = 0;
    for (std::size_t i = 0; i < measured.count; ++i) {
        for (const Part part : {sand, silt, clay})
            expected[i] += fractions[part] * model.thickness[part][measured.layer[i]];
        seen += measured.mm[i];
        total += expected[i];
    }
    const double amount = seen / total;

    // Each line is drawn with its own error, and parts two layers; the jar's floor has none.
    std::array<std::array<double, 3>, 3> covariance{};
    for (std::size_t i = 0; i < measured.count; ++i)
        for (std::size_t j = 0; j <= i; ++j) {
            const std::size_t a = measured.layer[i], b = measured.layer[j];
            const double lines = a == b ? (a == 0 ? 1.0 : 2.0) : (a == b + 1 ? -1.0 : 0.0);
            covariance[i][j] = line_error_mm * line_error_mm * lines;
        }
    for (const JarModel::Doubt& doubt : model.doubts) {
        const double scale = amount * fractions[doubt.part];
        for (std::size_t i = 0; i < measured.count; ++i)
            for (std::size_t j = 0; j <= i; ++j)
                covariance[i][j] += scale * scale * doubt.change[measured.layer[i]] * doubt.change[measured.layer[j]];
    }
    // Cholesky, with both sides solved along the way.
    std::array<std::array<double, 3>, 3> factor{};
    Layers of_seen{}, of_expected{};
    double log_determinant = 0;
    for (std::size_t i = 0; i < measured.count; ++i) {
        double seen_here = measured.mm[i], expected_here = expected[i];
        for (std::size_t j = 0; j <= i; ++j) {
            double sum = covariance[i][j];
            for (std::size_t k = 0; k < j; ++k) sum -= factor[i][k] * factor[j][k];
            factor[i][j] = i == j ? std::sqrt(sum) : sum / factor[j][j];
            if (j < i) {
                seen_here -= factor[i][j] * of_seen[j];
                expected_here -= factor[i][j] * of_expected[j];
            }
        }
        of_seen[i] = seen_here / factor[i][i];
        of_expected[i] = expected_here / factor[i][i];
        log_determinant += 2.0 * std::log(factor[i][i]);
    }
    double aa = 0, ab = 0, bb = 0;
    for (std::size_t i = 0; i < measured.count; ++i) {
        aa += of_expected[i] * of_expected[i];
        ab += of_expected[i] * of_seen[i];
        bb += of_seen[i] * of_seen[i];
    }
    // The amount is integrated out, every order of magnitude being equally likely.
    return -0.5 * (log_determinant + bb - ab * ab / aa + std::log(aa)) - std::log(amount);
}

/// Moments of the posterior over a window of the ilr plane, `steps` to each side.
IlrDistribution posterior(const Measured& measured, const JarModel& model, const std::array<double, 2>& middle,
                          const std::array<double, 2>& reach, int steps) {
    struct Point {
        std::array<double, 2> y;
        double log_weight;
    };
    std::vector<Point> points;
    double greatest = -1e300;
    for (int i = -steps; i <= steps; ++i)
        for (int j = -steps; j <= steps; ++j) {
            const std::array<double, 2> y{middle[0] + reach[0] * i / steps, middle[1] + reach[1] * j / steps};
            const GrainSize size = from_ilr(y);
            // The zero rule of `ilr`: nothing lies beyond.
            if (std::min({size.sand, size.silt, size.clay}) < 0.5) continue;
            const Parts fractions{size.sand / 100.0, size.silt / 100.0, size.clay / 100.0};
            // Evenly over the triangle: the product of the parts is its measure in the ilr plane.
            const double log_weight = log_likelihood(measured, model, fractions) +
                                      std::log(fractions[sand] * fractions[silt] * fractions[clay]);
            greatest = std::max(greatest, log_weight);
            points.push_back({y, log_weight});
        }
    IlrMoments moments;
    for (const Point& point : points) moments.add(point.y, std::exp(point.log_weight - greatest));
    return moments.distribution();
}

/// What is wrong with a reading, if anything.
Parsed<IlrDistribution> refusal(const JarReading& reading) {
    const auto refuse = [](std::string message, std::string remedy) {
        return Parsed<IlrDistribution>{std::nullopt, std::move(message), std::move(remedy)};
    };
    if (!(reading.temperature_c >= min_temperature_c && reading.temperature_c <= max_temperature_c))
        return refuse("water of " + plain_number(reading.temperature_c) + " degrees Celsius is not between 0 and 40",
                      "Write its temperature in degrees Celsius.");
    if (!(reading.water_height_cm > 0.0 && reading.water_height_cm <= 200.0))
        return refuse("a height of water of " + plain_number(reading.water_height_cm) + " cm is not between 0 and 200",
                      "Write the height from the jar's floor to the water's surface in centimetres.");
    struct Layer {
        std::string_view name;
        const std::optional<double>& mm;
    };
    std::size_t given = 0;
    double sum = 0;
    for (const Layer& layer :
         {Layer{"sand", reading.sand_mm}, Layer{"silt", reading.silt_mm}, Layer{"clay", reading.clay_mm}}) {
        if (!layer.mm) continue;
        if (!(*layer.mm >= 0.0 && std::isfinite(*layer.mm)))
            return refuse(
                "a layer of " + std::string(layer.name) + " cannot be " + plain_number(*layer.mm) + " mm thick",
                "Write its own thickness, from line to line, in millimetres.");
        ++given;
        sum += *layer.mm;
    }
    if (given < 2) return refuse("the jar gives fewer than two layers", "Measure at least two of sand, silt and clay.");
    if (sum <= 0.0) return refuse("the layers in the jar have no thickness", "Write each in millimetres.");
    if (sum > 10.0 * reading.water_height_cm)
        return refuse(
            "the layers in the jar, " + plain_number(sum) + " mm, are thicker than the water is high, " +
                plain_number(reading.water_height_cm) + " cm",
            "Write thicknesses in millimetres, each from line to line, and the height of the water in centimetres.");
    const double times[] = {reading.sand_read_after_s.value_or(usual_sand_mark_s),
                            reading.silt_read_after_s.value_or(usual_silt_mark_s),
                            reading.clay_read_after_s.value_or(1e300)};
    if (!(times[0] > 0.0 && times[0] < times[1] && times[1] < times[2]))
        return refuse("the lines in the jar were not drawn one after another: sand, silt, clay",
                      "Check the times; unstated ones are 1 minute for sand and 2 hours for silt.");
    return {};
}

}  // namespace

Parsed<IlrDistribution> jar_grain_size(const JarReading& reading) {
    if (auto refused = refusal(reading); !refused.message.empty()) return refused;
    Measured measured;
    const std::optional<double> layers[] = {reading.sand_mm, reading.silt_mm, reading.clay_mm};
    for (std::size_t i = 0; i < 3; ++i) {
        if (!layers[i]) continue;
        measured.layer[measured.count] = i;
        measured.mm[measured.count++] = *layers[i];
    }
    const JarModel model = model_of(reading);
    // The whole plane within the zero rule in coarse steps, then a window around what was found in fine ones.
    const IlrDistribution rough = posterior(measured, model, {0, -0.3}, {3.8, 4.1}, 11);
    const auto reach = [&](double variance) { return 4.0 * std::sqrt(variance + 0.03); };
    return {
        posterior(measured, model, rough.mean, {reach(rough.covariance[0]), reach(rough.covariance[2])}, 12), {}, {}};
}

}  // namespace subcrop::field

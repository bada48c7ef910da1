#include "subcrop/field/texture.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <string>
#include <utility>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

struct ClassName {
    std::string_view code;
    std::string_view name;
};

constexpr std::array<ClassName, texture_class_count> class_names{{
    {"S", "sand"},
    {"LS", "loamy sand"},
    {"SL", "sandy loam"},
    {"L", "loam"},
    {"SIL", "silt loam"},
    {"SI", "silt"},
    {"SCL", "sandy clay loam"},
    {"CL", "clay loam"},
    {"SICL", "silty clay loam"},
    {"SC", "sandy clay"},
    {"SIC", "silty clay"},
    {"C", "clay"},
}};

// Percentages written with one decimal are no binary fractions: i + 1.5 c of 6.6 and 5.6 comes out below 15. A limit
// counts as reached from a billionth below.
bool at_least(double value, double limit) { return value >= limit - 1e-9; }
bool above(double value, double limit) { return value > limit + 1e-9; }

}  // namespace

std::string_view code(TextureClass texture_class) { return class_names[static_cast<std::size_t>(texture_class)].code; }

std::string_view name(TextureClass texture_class) { return class_names[static_cast<std::size_t>(texture_class)].name; }

// Soil Science Division Staff 2017, Soil Survey Manual, USDA Handbook 18, chapter 3: the twelve conditions there share
// no point and leave none out, so they may be asked in any order; here by clay.
TextureClass classify(const GrainSize& grain_size) {
    const auto [sand, silt, clay] = grain_size;
    assert(std::abs(sand + silt + clay - 100.0) < 1e-6);
    if (at_least(clay, 40.0)) {
        if (above(sand, 45.0)) return TextureClass::sandy_clay;
        return at_least(silt, 40.0) ? TextureClass::silty_clay : TextureClass::clay;
    }
    if (at_least(clay, 35.0) && above(sand, 45.0)) return TextureClass::sandy_clay;
    if (at_least(clay, 27.0)) {
        if (above(sand, 45.0)) return TextureClass::sandy_clay_loam;
        return above(sand, 20.0) ? TextureClass::clay_loam : TextureClass::silty_clay_loam;
    }
    if (at_least(clay, 20.0) && above(sand, 45.0) && !at_least(silt, 28.0)) return TextureClass::sandy_clay_loam;
    if (at_least(silt, 50.0)) {
        return at_least(silt, 80.0) && !at_least(clay, 12.0) ? TextureClass::silt : TextureClass::silt_loam;
    }
    if (at_least(clay, 7.0) && at_least(silt, 28.0) && !above(sand, 52.0)) return TextureClass::loam;
    if (!at_least(silt + 1.5 * clay, 15.0)) return TextureClass::sand;
    if (!at_least(silt + 2.0 * clay, 30.0)) return TextureClass::loamy_sand;
    return TextureClass::sandy_loam;
}

namespace {

struct Part {
    std::string_view name;
    std::optional<double> percent;
};

std::string listed(const std::array<Part, 3>& parts) {
    std::string text;
    for (const Part& part : parts) {
        if (!part.percent) continue;
        text += (text.empty() ? "" : ", ") + std::string(part.name) + " " + plain_number(*part.percent);
    }
    return text;
}

/// No more decimals than help in a message.
std::string rounded(double number) { return plain_number(std::round(number * 100.0) / 100.0); }

}  // namespace

Parsed<GrainSize> close_grain_size(std::optional<double> sand, std::optional<double> silt, std::optional<double> clay) {
    std::array<Part, 3> parts{{{"sand", sand}, {"silt", silt}, {"clay", clay}}};
    double sum = 0;
    std::size_t given = 0;
    for (const Part& part : parts) {
        if (!part.percent) continue;
        const std::string part_name(part.name);
        if (!std::isfinite(*part.percent))
            return {std::nullopt, "the percentage of " + part_name + " is not a number",
                    "Write it in percent, or leave it empty."};
        if (*part.percent < 0.0)
            return {std::nullopt, part_name + " is " + plain_number(*part.percent) + " %, below 0",
                    "Leave the field empty where it was not measured."};
        if (*part.percent > 100.0 + 1e-9)
            return {std::nullopt, part_name + " is " + plain_number(*part.percent) + " %, above 100",
                    "Write percent of the fine earth by mass."};
        sum += *part.percent;
        ++given;
    }
    if (given == 0)
        return {std::nullopt, "neither sand, silt nor clay is given", "Give at least two of the three in percent."};
    if (given == 1)
        return {std::nullopt, "only one of sand, silt and clay is given (" + listed(parts) + ")",
                "Give at least two of the three in percent."};
    if (given == 2) {
        if (sum > 100.0 + 1e-9)
            return {std::nullopt, listed(parts) + " sum to " + rounded(sum) + ", above 100",
                    "Check the two percentages."};
        for (Part& part : parts)
            if (!part.percent) part.percent = std::max(0.0, 100.0 - sum);
        return {GrainSize{*parts[0].percent, *parts[1].percent, *parts[2].percent}, {}, {}};
    }
    if (std::abs(sum - 1.0) <= 0.05)
        return {std::nullopt, listed(parts) + " sum to " + rounded(sum) + ", not to 100",
                "These look like fractions of one: write percent."};
    if (sum < 95.0 - 1e-9 || sum > 105.0 + 1e-9)
        return {std::nullopt, listed(parts) + " sum to " + rounded(sum) + ", not to 100",
                "Check the three percentages; a sum from 95 to 105 is brought to 100."};
    Parsed<GrainSize> closed;
    closed.value = GrainSize{100.0 * *sand / sum, 100.0 * *silt / sum, 100.0 * *clay / sum};
    // A sum of 100 but for rounding in the last place is left as written, so that a point on a limit stays on it.
    if (std::abs(sum - 100.0) < 1e-9) closed.value = GrainSize{*sand, *silt, *clay};
    if (std::abs(sum - 100.0) > 1.0 + 1e-9)
        closed.message = listed(parts) + " sum to " + rounded(sum) + "; brought to 100";
    return closed;
}

namespace {

constexpr double min_part = 0.5;

/// Parts below 0.5 % raised to it, the others lowered in proportion; again where that took one below.
std::array<double, 3> without_zeros(const GrainSize& grain_size) {
    std::array<double, 3> parts{grain_size.sand, grain_size.silt, grain_size.clay};
    std::array<bool, 3> raised{};
    for (;;) {
        bool more = false;
        for (std::size_t i = 0; i < 3; ++i) {
            if (raised[i] || parts[i] >= min_part) continue;
            raised[i] = more = true;
        }
        if (!more) return parts;
        double left = 100.0;
        double others = 0.0;
        for (std::size_t i = 0; i < 3; ++i) raised[i] ? left -= min_part : others += parts[i];
        for (std::size_t i = 0; i < 3; ++i) parts[i] = raised[i] ? min_part : parts[i] * left / others;
    }
}

}  // namespace

std::array<double, 2> ilr(const GrainSize& grain_size) {
    assert(grain_size.sand >= 0.0 && grain_size.silt >= 0.0 && grain_size.clay >= 0.0);
    const auto [sand, silt, clay] = without_zeros(grain_size);
    return {std::log(sand / silt) / std::sqrt(2.0), std::log(sand * silt / (clay * clay)) / std::sqrt(6.0)};
}

GrainSize from_ilr(const std::array<double, 2>& coordinates) {
    // Centred log-ratios; the greatest is taken off before the exponential so that none overflows.
    const double first = coordinates[0] / std::sqrt(2.0);
    const double second = coordinates[1] / std::sqrt(6.0);
    const std::array<double, 3> clr{first + second, second - first, -2.0 * second};
    const double greatest = *std::max_element(clr.begin(), clr.end());
    const double sand = std::exp(clr[0] - greatest);
    const double silt = std::exp(clr[1] - greatest);
    const double clay = std::exp(clr[2] - greatest);
    const double sum = sand + silt + clay;
    return {100.0 * sand / sum, 100.0 * silt / sum, 100.0 * clay / sum};
}

}  // namespace subcrop::field

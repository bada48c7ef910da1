#include "subcrop/field/munsell.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <vector>

#include "field/renotation.hpp"
#include "subcrop/field/colour_difference.hpp"

namespace subcrop::field {

namespace {

struct RenotationRow {
    double hue;
    int value;
    int chroma;
    double x;
    double y;
};

constexpr RenotationRow renotation[] = {
#include "field/munsell_renotation.inc"
};

// Illuminant C, CIE 15.
constexpr double white_x = 0.31006;
constexpr double white_y = 0.31616;

struct Xyz {
    double x, y, z;
};

constexpr Xyz white{100.0 * white_x / white_y, 100.0, 100.0 * (1.0 - white_x - white_y) / white_y};

// CIE 15: the cube root above (6/29)^3, a straight line below.
constexpr double knee = 6.0 / 29.0;

double lab_function(double ratio) {
    return ratio > knee * knee * knee ? std::cbrt(ratio) : ratio / (3.0 * knee * knee) + 4.0 / 29.0;
}

double inverse_lab_function(double f) { return f > knee ? f * f * f : 3.0 * knee * knee * (f - 4.0 / 29.0); }

Lab lab_of(const ChromaticityLuminance& colour) {
    const double x = colour.luminance * colour.x / colour.y;
    const double z = colour.luminance * (1.0 - colour.x - colour.y) / colour.y;
    const double fx = lab_function(x / white.x);
    const double fy = lab_function(colour.luminance / white.y);
    const double fz = lab_function(z / white.z);
    return {116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)};
}

ChromaticityLuminance chromaticity_of(const Lab& lab) {
    const double fy = (lab.lightness + 16.0) / 116.0;
    // An extrapolated colour may be physically impossible. No stimulus is below zero.
    const double x = std::max(0.0, white.x * inverse_lab_function(fy + lab.a / 500.0));
    const double y = white.y * inverse_lab_function(fy);
    const double z = std::max(0.0, white.z * inverse_lab_function(fy - lab.b / 200.0));
    const double sum = x + y + z;
    return {x / sum, y / sum, y};
}

/// A colour of known value about its grey: CIELAB chroma, and hue angle in radians.
struct Polar {
    double radius;
    double angle;
};

/// From `from` to `to` by `share`, the shorter way round.
Polar between(const Polar& from, const Polar& to, double share) {
    return {std::lerp(from.radius, to.radius, share),
            from.angle + share * std::remainder(to.angle - from.angle, 2.0 * std::numbers::pi)};
}

constexpr int hue_count = 40;   // each 2.5 steps
constexpr int value_count = 9;  // 1 to 9

/// The renotation in polar CIELAB, by hue, value and chroma.
class Renotation {
public:
    Renotation() {
        for (const RenotationRow& row : renotation) {
            const Lab lab = lab_of({row.x, row.y, luminance_of_value(row.value)});
            column(hue_index(row.hue), row.value)
                .push_back({static_cast<double>(row.chroma), {std::hypot(lab.a, lab.b), std::atan2(lab.b, lab.a)}});
        }
    }

    /// `hue` any of the forty, `value` 1 to 9.
    Polar at(int hue, int value, double chroma) const {
        const Column& known = columns_[index(hue, value)];
        const auto above = std::find_if(known.begin(), known.end(), [&](const Entry& e) { return e.chroma >= chroma; });
        if (above == known.begin()) return in_proportion(known.front(), chroma);
        if (above == known.end()) return in_proportion(known.back(), chroma);
        const auto below = above - 1;
        return between(below->colour, above->colour, (chroma - below->chroma) / (above->chroma - below->chroma));
    }

    double max_chroma(int hue, int value) const { return columns_[index(hue, value)].back().chroma; }

    static int hue_index(double hue) { return (static_cast<int>(std::lround(hue / 2.5)) - 1 + hue_count) % hue_count; }

private:
    struct Entry {
        double chroma;
        Polar colour;
    };
    using Column = std::vector<Entry>;

    static std::size_t index(int hue, int value) {
        return static_cast<std::size_t>(((hue + hue_count) % hue_count) * value_count + value - 1);
    }
    Column& column(int hue, int value) { return columns_[index(hue, value)]; }

    static Polar in_proportion(const Entry& entry, double chroma) {
        return {entry.colour.radius * chroma / entry.chroma, entry.colour.angle};
    }

    std::array<Column, static_cast<std::size_t>(hue_count* value_count)> columns_;
};

const Renotation& table() {
    static const Renotation once;
    return once;
}

/// Position of a number between two of the table's steps.
struct Bracket {
    int below;
    int above;
    double share;
};

Bracket hue_bracket(double hue) {
    const double step = hue / 2.5 - 1.0;  // 0 for 2.5R
    const double floor = std::floor(step);
    const int below = static_cast<int>(floor);
    const double share = step - floor;
    return {below, share == 0.0 ? below : below + 1, share};
}

Bracket value_bracket(double value) {
    const double held = std::clamp(value, 1.0, static_cast<double>(value_count));
    const double floor = std::floor(held);
    const int below = static_cast<int>(floor);
    const double share = held - floor;
    return {below, share == 0.0 ? below : below + 1, share};
}

/// Interpolated in polar CIELAB, which bends with the lines of equal hue and of equal chroma where x and y do not.
Polar interpolate(double hue, double value, double chroma) {
    const Bracket hues = hue_bracket(hue);
    const Bracket values = value_bracket(value);
    const auto at_value = [&](int v) {
        return between(table().at(hues.below, v, chroma), table().at(hues.above, v, chroma), hues.share);
    };
    return between(at_value(values.below), at_value(values.above), values.share);
}

Lab lab_of(const Polar& colour, double lightness) {
    return {lightness, colour.radius * std::cos(colour.angle), colour.radius * std::sin(colour.angle)};
}

double lightness_of_value(double value) { return 116.0 * lab_function(luminance_of_value(value) / 100.0) - 16.0; }

}  // namespace

double luminance_of_value(double value) {
    assert(value >= 0.0 && value <= 10.0);
    return value * (1.1914 + value * (-0.22533 + value * (0.23352 + value * (-0.020484 + value * 0.00081939))));
}

double value_of_luminance(double luminance) {
    assert(luminance >= 0.0 && luminance <= 100.0 + 1e-9);  // the quintic of 10 may round up
    // The quintic rises all the way, so that Newton's steps, held to the range, settle from the cube-root start.
    double value = std::clamp(10.0 * std::cbrt(luminance / 100.0), 0.0, 10.0);
    for (int step = 0; step < 50; ++step) {
        const double slope = 1.1914 + value * (-0.45066 + value * (0.70056 + value * (-0.081936 + value * 0.00409695)));
        const double next = std::clamp(value - (luminance_of_value(value) - luminance) / slope, 0.0, 10.0);
        const bool settled = std::abs(next - value) < 1e-13;
        value = next;
        if (settled) break;
    }
    return value;
}

double max_measured_chroma(double hue, double value) {
    const Bracket hues = hue_bracket(hue);
    const Bracket values = value_bracket(value);
    double greatest = 0.0;
    for (const int h : {hues.below, hues.above})
        for (const int v : {values.below, values.above}) greatest = std::max(greatest, table().max_chroma(h, v));
    return greatest;
}

Lab to_lab(const Munsell& colour) {
    assert(colour.value >= 0.0 && colour.value <= 10.0 && colour.chroma >= 0.0);
    const double lightness = lightness_of_value(colour.value);
    if (colour.chroma == 0.0) return {lightness, 0.0, 0.0};
    // The table ends at values 1 and 9. Below 1 chroma shrinks with lightness, which in the dark, where CIELAB is
    // linear, keeps the chromaticity; above 9 it stays as at 9.
    Polar polar = interpolate(colour.hue, colour.value, colour.chroma);
    if (colour.value < 1.0) polar.radius *= lightness / lightness_of_value(1.0);
    return lab_of(polar, lightness);
}

ChromaticityLuminance to_chromaticity(const Munsell& colour) {
    assert(colour.value >= 0.0 && colour.value <= 10.0 && colour.chroma >= 0.0);
    const double luminance = luminance_of_value(colour.value);
    if (colour.chroma == 0.0 || luminance == 0.0) return {white_x, white_y, luminance};
    ChromaticityLuminance result = chromaticity_of(to_lab(colour));
    result.luminance = luminance;
    return result;
}

Srgb to_srgb(const Munsell& colour) {
    const ChromaticityLuminance c = to_chromaticity(colour);
    const double x = c.luminance * c.x / c.y / 100.0;
    const double y = c.luminance / 100.0;
    const double z = c.luminance * (1.0 - c.x - c.y) / c.y / 100.0;

    // Bradford: cone responses, each scaled from the white of illuminant C to that of D65.
    const auto cones = [](double cx, double cy, double cz) {
        return std::array{0.8951 * cx + 0.2664 * cy - 0.1614 * cz, -0.7502 * cx + 1.7135 * cy + 0.0367 * cz,
                          0.0389 * cx - 0.0685 * cy + 1.0296 * cz};
    };
    constexpr double d65_x = 0.3127;
    constexpr double d65_y = 0.3290;
    const auto here = cones(white.x / 100.0, 1.0, white.z / 100.0);
    const auto there = cones(d65_x / d65_y, 1.0, (1.0 - d65_x - d65_y) / d65_y);
    auto cone = cones(x, y, z);
    for (std::size_t i = 0; i < 3; ++i) cone[i] *= there[i] / here[i];
    const double ax = 0.9869929 * cone[0] - 0.1470543 * cone[1] + 0.1599627 * cone[2];
    const double ay = 0.4323053 * cone[0] + 0.5183603 * cone[1] + 0.0492912 * cone[2];
    const double az = -0.0085287 * cone[0] + 0.0400428 * cone[1] + 0.9684867 * cone[2];

    // IEC 61966-2-1.
    const auto encode = [](double linear) {
        const double held = std::clamp(linear, 0.0, 1.0);
        const double encoded = held <= 0.0031308 ? 12.92 * held : 1.055 * std::pow(held, 1.0 / 2.4) - 0.055;
        return static_cast<std::uint8_t>(std::lround(255.0 * encoded));
    };
    return {encode(3.2404542 * ax - 1.5371385 * ay - 0.4985314 * az),
            encode(-0.9692660 * ax + 1.8760108 * ay + 0.0415560 * az),
            encode(0.0556434 * ax - 0.2040259 * ay + 1.0572252 * az)};
}

namespace {

struct Chip {
    Munsell colour;
    Lab lab;
};

/// The chips of an ordinary soil colour book (from memory): seven hue pages, and the gley pages.
std::vector<Chip> book_chips() {
    std::vector<Chip> chips;
    const auto add = [&](double hue, double value, double chroma) {
        const Munsell colour{chroma == 0.0 ? 0.0 : hue, value, chroma};
        chips.push_back({colour, to_lab(colour)});
    };
    for (const double hue : {10.0, 12.5, 15.0, 17.5, 20.0, 22.5, 25.0}) {
        for (const double chroma : {1.0, 2.0}) add(hue, hue == 20.0 ? 2.0 : 2.5, chroma);
        for (const double chroma : {1.0, 2.0, 3.0, 4.0, 6.0}) add(hue, 3.0, chroma);
        for (const double value : {4.0, 5.0, 6.0, 7.0, 8.0})
            for (const double chroma : {1.0, 2.0, 3.0, 4.0, 6.0, 8.0}) add(hue, value, chroma);
    }
    for (const double value : {2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0}) {
        add(0.0, value, 0.0);
        for (const double hue : {30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0, 75.0}) add(hue, value, 1.0);
        if (value >= 3.0) add(45.0, value, 2.0);
    }
    return chips;
}

}  // namespace

Munsell nearest_chip(const Lab& lab) {
    static const std::vector<Chip> chips = book_chips();
    const Chip* best = nullptr;
    double least = std::numeric_limits<double>::infinity();
    for (const Chip& chip : chips) {
        const double difference = colour_difference(lab, chip.lab);
        if (difference < least) {
            least = difference;
            best = &chip;
        }
    }
    assert(best);
    return best->colour;
}

}  // namespace subcrop::field

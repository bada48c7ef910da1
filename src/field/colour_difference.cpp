#include "subcrop/field/colour_difference.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace subcrop::field {

namespace {

constexpr double degree = std::numbers::pi / 180.0;

/// Hue angle in degrees, 0 to 360; 0 for a grey.
double hue_angle(double a, double b) {
    if (a == 0.0 && b == 0.0) return 0.0;
    const double angle = std::atan2(b, a) / degree;
    return angle < 0.0 ? angle + 360.0 : angle;
}

double power7(double value) { return value * value * value * value * value * value * value; }

}  // namespace

// Equation numbers of Sharma, Wu and Dalal 2005.
double colour_difference(const Lab& first, const Lab& second) {
    const double mean_plain_chroma = (std::hypot(first.a, first.b) + std::hypot(second.a, second.b)) / 2.0;
    const double chroma7 = power7(mean_plain_chroma);
    const double g = 0.5 * (1.0 - std::sqrt(chroma7 / (chroma7 + power7(25.0))));  // (4)
    const double a1 = (1.0 + g) * first.a;                                         // (5)
    const double a2 = (1.0 + g) * second.a;
    const double c1 = std::hypot(a1, first.b);  // (6)
    const double c2 = std::hypot(a2, second.b);
    const double h1 = hue_angle(a1, first.b);  // (7)
    const double h2 = hue_angle(a2, second.b);

    // Two hues just opposite differ by 180 degrees give or take a rounding error; the equations take exactly 180 on the
    // near side.
    constexpr double half_turn = 180.0 + 1e-9;
    const bool grey = c1 * c2 == 0.0;
    double hue_step = 0.0;  // (10)
    if (!grey) {
        hue_step = h2 - h1;
        if (hue_step > half_turn) hue_step -= 360.0;
        if (hue_step < -half_turn) hue_step += 360.0;
    }
    const double lightness_difference = second.lightness - first.lightness;                      // (8)
    const double chroma_difference = c2 - c1;                                                    // (9)
    const double hue_difference = 2.0 * std::sqrt(c1 * c2) * std::sin(hue_step / 2.0 * degree);  // (11)

    const double mean_lightness = (first.lightness + second.lightness) / 2.0;  // (12)
    const double mean_chroma = (c1 + c2) / 2.0;                                // (13)
    double mean_hue = h1 + h2;                                                 // (14)
    if (!grey) {
        if (std::abs(h1 - h2) > half_turn) mean_hue += mean_hue < 360.0 ? 360.0 : -360.0;
        mean_hue /= 2.0;
    }

    const double t = 1.0 - 0.17 * std::cos((mean_hue - 30.0) * degree) + 0.24 * std::cos(2.0 * mean_hue * degree) +
                     0.32 * std::cos((3.0 * mean_hue + 6.0) * degree) -
                     0.20 * std::cos((4.0 * mean_hue - 63.0) * degree);                  // (15)
    const double rotation = 30.0 * std::exp(-std::pow((mean_hue - 275.0) / 25.0, 2.0));  // (16)
    const double mean_chroma7 = power7(mean_chroma);
    const double rotation_chroma = 2.0 * std::sqrt(mean_chroma7 / (mean_chroma7 + power7(25.0)));  // (17)
    const double from_50 = (mean_lightness - 50.0) * (mean_lightness - 50.0);
    const double lightness_scale = 1.0 + 0.015 * from_50 / std::sqrt(20.0 + from_50);  // (18)
    const double chroma_scale = 1.0 + 0.045 * mean_chroma;                             // (19)
    const double hue_scale = 1.0 + 0.015 * mean_chroma * t;                            // (20)
    const double turn = -std::sin(2.0 * rotation * degree) * rotation_chroma;          // (21)

    const double l = lightness_difference / lightness_scale;
    const double c = chroma_difference / chroma_scale;
    const double h = hue_difference / hue_scale;
    return std::sqrt(std::max(0.0, l * l + c * c + h * h + turn * c * h));  // (22)
}

}  // namespace subcrop::field

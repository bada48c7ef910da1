// The jar test: soil shaken in a jar of water settles as sand, silt and clay. Lines drawn at the right times separate
// the layers. Stokes' law tells when to draw them and what the layers contain.
//
//     JarMarks marks = jar_marks(15, 20);                  // sand after 67 s, silt after 11 h 36 min
//     double size_mm = settled_size_mm(2 * 3600, 15, 20);  // 0.0048: a line at 2 h leaves fine silt with the clay
//     Parsed<IlrDistribution> soil = jar_grain_size({.sand_mm = 40, .silt_mm = 25, .clay_mm = 10});  // with its error
#pragma once

#include <optional>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"
#include "subcrop/field/texture.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

// Of water at one atmosphere, from 0 to 40 degrees Celsius.
/// Pa s. IAPWS SR6-08(2011), revised supplementary release on liquid water at 0.1 MPa, equation for viscosity.
double water_viscosity(double temperature_c);
/// kg/m3. Tanaka et al. 2001, Metrologia 38:301-309.
double water_density(double temperature_c);

/// kg/m3; quartz. Clay and feldspar differ by a few percent.
inline constexpr double grain_density = 2650;

/// Seconds in which a sphere of quartz falls this far by Stokes' law. Valid only if `obeys_stokes`; larger grains fall
/// more slowly.
double settling_time_s(double diameter_mm, double fall_cm, double temperature_c);
/// Its inverse: all grains of this size and larger have fallen this far by then.
double settled_size_mm(double time_s, double fall_cm, double temperature_c);

/// Reynolds number of a grain at the speed of Stokes' law.
double grain_reynolds(double diameter_mm, double temperature_c);
/// Reynolds number at most 0.25, where Oseen's correction to Stokes' law is below 5 %. This is so for silt and clay,
/// and for the finest sand, up to about 0.06 mm.
bool obeys_stokes(double diameter_mm, double temperature_c);

inline constexpr double sand_limit_mm = 0.05;
inline constexpr double silt_limit_mm = 0.002;

/// When the sand and when the silt has settled, in seconds after the shaking.
struct JarMarks {
    double sand_s = 0;
    double silt_s = 0;
};
JarMarks jar_marks(double water_height_cm, double temperature_c);

/// Thickness of each settled layer in mm, at least two of them. Times are in seconds after the shaking. Absent times
/// are the usual ones: 1 minute for sand, 2 hours for silt (common practice, no source), and clear water for clay.
struct JarReading {
    std::optional<double> sand_mm = {};
    std::optional<double> silt_mm = {};
    std::optional<double> clay_mm = {};
    std::optional<double> sand_read_after_s = {};
    std::optional<double> silt_read_after_s = {};
    std::optional<double> clay_read_after_s = {};
    double water_height_cm = 15;
    double temperature_c = 20;
};
inline constexpr double usual_sand_mark_s = 60;
inline constexpr double usual_silt_mark_s = 2 * 3600;

/// Mass fractions of the fine earth, with a flat prior. Allowed for, by common practice without source:
/// - water in the layers: pores are 0.40 of settled sand, 0.50 of silt, 0.80 of clay (standard errors 0.04, 0.06,
/// 0.06);
/// - grains that by Stokes' law settled into another layer at the times stated.
/// - silt that settled with the sand, and sand that settled with the silt;
/// - clay in flocs that fell as silt: 0.10 (standard error 0.10).
/// - an error of 0.75 mm in the place of each line. Sizes spread evenly over the logarithm within sand, silt and clay.
/// Refused with the reason if fewer than two layers are given or a figure is impossible.
Parsed<IlrDistribution> jar_grain_size(const JarReading& reading);

}  // namespace subcrop::field
SUBCROP_EXPORT_END

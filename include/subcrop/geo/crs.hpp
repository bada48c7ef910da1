// Coordinate reference systems and the operations between them, through PROJ. Only this part deals with axis order: all
// its input and output is x (east or longitude), y (north or latitude).
//
//     Crs from("EPSG:4326"), to("EPSG:32633");
//     std::vector<Point> points{{15.0, 52.0}, {15.1, 52.1}};
//     Transformation t(from, to, points, {.allow_ballpark = false});  // throws Error when refused
//     std::vector<std::uint8_t> good = t.apply(points);               // in place; 1 where it worked
//     std::optional<double> worst_m = t.report().accuracy_m;          // worst published accuracy used
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// Throws Error if PROJ's own data is missing. Without it PROJ knows no coordinate reference system by code.
void require_proj_data();

/// A coordinate reference system. Copies share one immutable definition.
class Crs {
public:
    /// From a code ("EPSG:32633"), WKT, PROJJSON, a PROJ string or the full name ("WGS 84 / UTM zone 33N"; case and
    /// spaces do not matter). Throws Error if PROJ does not know it, and for an incomplete name.
    explicit Crs(const std::string& definition);

    std::string name() const;  ///< "WGS 84 / UTM zone 33N"
    std::string code() const;  ///< "EPSG:32633", empty when it has none
    std::string wkt() const;   ///< WKT 2 (2019)
    std::string wkt1() const;  ///< WKT 1 in GDAL's dialect, for gpkg_spatial_ref_sys
    bool geographic() const;   ///< coordinates are degrees
    bool projected() const;
    double metres_per_unit() const;        ///< of a projected system; 1 for metres, 0.3048... for feet
    bool same_as(const Crs& other) const;  ///< the same, except perhaps for axis order and name

    struct Definition;
    const Definition& definition() const { return *definition_; }

private:
    std::shared_ptr<const Definition> definition_;
};

/// The UTM zone (WGS 84) of a place in degrees; UPS beyond 84 north and 80 south.
Crs utm_zone_of(double longitude_deg, double latitude_deg);

struct TransformationOptions {
    bool allow_ballpark = false;  ///< accept an operation without the datum shift it needs
    std::string source = {};      ///< file and layer, for messages
};

/// The operations that were used; known after points were transformed.
struct OperationReport {
    std::string name;                  ///< PROJ's name; several joined by "; " where the area needed several
    std::optional<double> accuracy_m;  ///< the worst of those used; absent: unknown
    bool ballpark = false;
    std::vector<std::string> missing_grids;  ///< better operations exist that need these
};

/// Transforms points from one system to another. Use one object for each thread.
class Transformation {
public:
    /// `sample`: points of the data (at most a few thousand) in the source's own units. They give the area of interest,
    /// and so the suitable operations. Throws Error with a remedy if no operation fits the area, or only a ballpark one
    /// that is not allowed.
    Transformation(const Crs& from, const Crs& to, std::span<const Point> sample, TransformationOptions options);
    Transformation(Transformation&&) noexcept;
    Transformation& operator=(Transformation&&) noexcept;
    ~Transformation();

    /// In place. Returns one flag a point: 1 done, 0 failed or outside the valid area of the systems (left unchanged).
    std::vector<std::uint8_t> apply(std::span<Point> points) const;
    const OperationReport& report() const;
    bool identity() const;  ///< same system: apply does nothing
    /// A copy for another thread.
    Transformation clone() const;

private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END

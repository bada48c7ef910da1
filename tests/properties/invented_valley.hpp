// A small invented survey that can be written down in many ways, and what a whole run makes of it.
//
//     Valley valley;                                   // 2 km by 1.6 km, in metres from its middle
//     const Judgement as_drawn = judge(valley, {});
//     expect_same(as_drawn, judge(shuffled(valley), {}), 0);
#pragma once

#include <functional>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::properties {

struct Valley {
    struct Stop {
        std::string id;
        Point place;
        std::string plants, unit_seen;
    };
    struct Layer {
        std::string stop, designation, colour, texture;
        double top_cm, bottom_cm;
    };
    struct Ground {
        std::string unit;
        std::vector<Polygon> parts;  ///< one row of the map
    };
    std::vector<Stop> stops;
    std::vector<Layer> horizons;
    std::vector<Ground> map;
    std::vector<std::string> units;  ///< in the legend's order

    /// Four units, one of them an island in another; contacts are crooked, a twelfth of the stops has soil of another
    /// unit and rock was seen at a tenth. Stops keep clear of the edges of blocks of 392 to 394 m.
    Valley();
};

/// A ring or place of the valley as it is written into a source.
using Placing = std::function<Point(Point)>;

struct Writing {
    std::string crs = "EPSG:32633";  ///< of stops and map
    std::string working_crs = {};    ///< empty: left to the program
    Placing place = [](Point p) { return Point{p.x + 500000, p.y + 5600000}; };
    std::string map_crs = {};  ///< where it differs from that of the stops
    Placing place_map = {};
    std::string settings = R"({"evidence": "none", "block_m": 394, "next_stops": 0})";
    bool legend = true;
    std::function<std::string(double)> depth = {};  ///< centimetres as the cell says them
    /// Heights of the ground on cells of 20 m: times this, said to be in this unit by the raster and by the survey
    /// file.
    double height_factor = 0;  ///< 0: there is no terrain
    std::string raster_unit = {}, stated_unit = {};
    unsigned threads = 1;
};

struct Verdict {
    std::string mapped, fitted, verdict, landform;
    double p_mapped = 0, p_fitted = 0, contact_distance_m = 0;
};

struct Judgement {
    std::map<std::string, Verdict> stops;
    /// Of all contacts between two units: stops for and against, metres.
    struct Contacts {
        int stops_for = 0, stops_against = 0;
        double length_m = 0;
    };
    std::map<std::pair<std::string, std::string>, Contacts> contacts;
    std::string working_crs;  ///< name of the results' system
    std::vector<std::string> problems;
    double creep_m = 0;  ///< sum over the stops
};

/// Writes the survey, runs it and reads the results.
Judgement judge(const Valley& valley, const Writing& writing);

/// The same verdicts at the same stops; probabilities within `tolerance`, distances to contacts within `distance_share`
/// of themselves and a centimetre.
void expect_same(const Judgement& one, const Judgement& other, double tolerance, double distance_share = 1e-6);

/// Stops whose verdict differs.
std::vector<std::string> differing(const Judgement& one, const Judgement& other);

/// From one system to another by GDAL, x before y on both sides.
Placing transformed(const std::string& from, const std::string& to);

}  // namespace subcrop::properties

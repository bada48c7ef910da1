// The map as a sheet: at a round scale, with grid, legend plate, title block and credits.
#pragma once

#include <string>

#include "publish/chapter/svg.hpp"
#include "publish/judged_survey.hpp"

namespace subcrop::publish::chapter {

/// Above this number of stops only conflicts and stops with observed bedrock are drawn.
inline constexpr std::size_t max_stops_drawn = 5000;

struct MapSheet {
    Svg drawing{0, 0};
    double denominator = 0;  ///< of its scale
    double grid_m = 0;       ///< spacing of the grid
};

/// A sheet of paper, landscape.
struct SheetPaper {
    std::string name;  ///< "A3"; empty: of no standard size
    double width_mm = 0, height_mm = 0;
};

/// The smallest of A4 to A0 (ISO 216) that holds the drawing within a printer's margin, else paper of its own size.
SheetPaper paper_for(const Svg& drawing);

/// The drawing alone on its paper, for a browser to print at its true size.
std::string printed_page(const Svg& drawing, const std::string& title);

/// The revised map: the draft with its contacts moved and areas redrawn. On A3 landscape at the largest round scale
/// that fits, or at the scale asked for (`denominator` above 0), on a larger sheet if needed. Not good at: maps of very
/// many polygons, whose drawing takes as many megabytes as the map.
MapSheet map_sheet(const JudgedSurvey& judged, const std::string& credits, double denominator = 0);

}  // namespace subcrop::publish::chapter

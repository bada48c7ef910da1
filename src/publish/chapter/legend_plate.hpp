// The legend plate: units in age order with their colours, contacts by how well they are located, stops by verdict.
#pragma once

#include <vector>

#include "publish/chapter/svg.hpp"
#include "publish/judged_survey.hpp"

namespace subcrop::publish::chapter {

/// Units from the youngest to the oldest; those without an age keep the order of the legend and come last.
std::vector<model::UnitIndex> in_age_order(const model::Survey& survey);

/// Only contacts and verdicts that occur in this survey. With a scale, its bar and a north arrow are below.
Svg legend_plate(const JudgedSurvey& judged, double width_mm, double denominator);

}  // namespace subcrop::publish::chapter

// Doubtful but readable records: values that contradict one another, in a profile or between stops. Nothing is changed
// or left out.
//
//     ProblemLog problems;
//     Reduced reduced = reduce(survey, problems);
//     audit(survey, reduced, 0, problems);
//
// Limits are common practice put into numbers, no source, except where one is named in the code.
#pragma once

#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// Profiles: horizons that overlap or leave gaps, depths in another unit than the rest. Moist colours lighter than dry,
/// hues at odds with the profile, reaction to acid in acid soil. Stops: far from the rest (without a map), two at one
/// place and date, traverses whose order jumps. Position errors that only some stops state or that look like
/// centimetres, landforms of unknown words. Words: kinds of fragments and minerals that may be one thing under two
/// names, dates in an unclear order. Cost: about linear; `threads` 0: all the machine has, which changes no result.
void audit(const Survey& survey, const Reduced& reduced, unsigned threads, ProblemLog& problems);

/// The problems with `stop` filled in, if the row tells it.
std::vector<Problem> with_stops_named(const Survey& survey, std::vector<Problem> problems);

}  // namespace subcrop::model
SUBCROP_EXPORT_END

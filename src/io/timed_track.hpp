// Where a receiver was, and when: places for photographs and stops that state a time only.
//
//     TimedTrack track = read_timed_track(file, problems);
//     track.at(*field::seconds_of("2026-05-12 10:22:31") - 2 * 3600)   // longitude and latitude; nothing where it says
//     nothing of that time
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/io/survey_file.hpp"

namespace subcrop::io {

class TimedTrack {
public:
    /// Seconds since 1970 in UTC; WGS 84 longitude and latitude. In any order.
    void add(std::int64_t seconds, Point degrees);
    /// To be called after the last `add`.
    void settle();
    bool empty() const { return points_.empty(); }
    /// On the straight line between the points before and after, where these are no more than ten minutes apart.
    std::optional<Point> at(std::int64_t seconds) const;

private:
    struct Moment {
        std::int64_t seconds;
        Point degrees;
    };
    std::vector<Moment> points_;
};

/// The points with a time of the tracks in the GPX file that `waypoints` names; empty where it has none, is no GPX, or
/// the survey file does not say how far the clocks are ahead of UTC.
TimedTrack read_timed_track(const SurveyFile& file);

}  // namespace subcrop::io

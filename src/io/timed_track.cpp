#include "io/timed_track.hpp"

#include <ogrsf_frmts.h>

#include <algorithm>
#include <cstdio>

#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "subcrop/field/written_date.hpp"

namespace subcrop::io {

namespace {

constexpr std::int64_t longest_gap_s = 600;
constexpr int utc_flag = 100, quarter_of_an_hour_s = 900;  // GDAL counts zones in quarters from UTC

std::optional<std::int64_t> seconds_of(const OGRFeature& feature, int field) {
    if (!feature.IsFieldSetAndNotNull(field)) return std::nullopt;
    int year = 0, month = 0, day = 0, hour = 0, minute = 0, zone = 0;
    float second = 0;
    if (feature.GetFieldAsDateTime(field, &year, &month, &day, &hour, &minute, &second, &zone) == 0)
        return std::nullopt;
    char text[64];
    std::snprintf(text, sizeof text, "%04d-%02d-%02d %02d:%02d:%02d", year, month, day, hour, minute,
                  static_cast<int>(second));
    const auto seconds = field::seconds_of(text);
    if (!seconds) return std::nullopt;
    return *seconds - (zone > 1 ? (zone - utc_flag) * quarter_of_an_hour_s : 0);
}

}  // namespace

void TimedTrack::add(std::int64_t seconds, Point degrees) { points_.push_back({seconds, degrees}); }

void TimedTrack::settle() {
    std::stable_sort(points_.begin(), points_.end(),
                     [](const Moment& a, const Moment& b) { return a.seconds < b.seconds; });
}

std::optional<Point> TimedTrack::at(std::int64_t seconds) const {
    const auto after = std::lower_bound(points_.begin(), points_.end(), seconds,
                                        [](const Moment& m, std::int64_t s) { return m.seconds < s; });
    if (after == points_.end()) return std::nullopt;
    if (after->seconds == seconds) return after->degrees;
    if (after == points_.begin()) return std::nullopt;
    const Moment &a = *(after - 1), &b = *after;
    if (b.seconds - a.seconds > longest_gap_s) return std::nullopt;
    const double t = static_cast<double>(seconds - a.seconds) / static_cast<double>(b.seconds - a.seconds);
    return Point{a.degrees.x + t * (b.degrees.x - a.degrees.x), a.degrees.y + t * (b.degrees.y - a.degrees.y)};
}

TimedTrack read_timed_track(const SurveyFile& file) {
    TimedTrack track;
    if (!file.waypoints || !file.waypoints->utc_offset_h || !lower(file.waypoints->source).ends_with(".gpx"))
        return track;
    SourceDescription description = *file.waypoints;
    description.layer = "track_points";
    const GdalMessages messages;
    const OpenLayer open = open_layer(file, description);
    const int time = open.layer->GetLayerDefn()->GetFieldIndex("time");
    if (time < 0) return track;
    for (const auto& feature : *open.layer) {
        const OGRGeometry* geometry = feature->GetGeometryRef();
        const auto seconds = seconds_of(*feature, time);
        if (!seconds || geometry == nullptr || wkbFlatten(geometry->getGeometryType()) != wkbPoint) continue;
        track.add(*seconds, {geometry->toPoint()->getX(), geometry->toPoint()->getY()});
    }
    track.settle();
    return track;
}

}  // namespace subcrop::io

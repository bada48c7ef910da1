// The contents of the field files, before they are written in any format.
#pragma once

#include <string>
#include <vector>

#include "publish/judged_survey.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/terrain.hpp"
#include "subcrop/publish/field_trip.hpp"

namespace subcrop::publish {

/// A contact to check, and its 90 % zone.
struct FieldContact {
    std::string name;          ///< "C12 Ha-Kb": the number is its feature id in contact_review
    std::string zone_name;     ///< "Z12 Ha-Kb"
    std::string drafted_name;  ///< "D12 Ha-Kb"
    std::string about;         ///< one or two sentences
    std::size_t contact = 0;   ///< index into UnitMap::contacts()
    Line line;                 ///< at its new place, working projection
    Line drafted;              ///< as drawn; empty: the same place
    MultiPolygon zone;
};

/// A place besides the stops of the walk.
struct FieldMark {
    std::string name;  ///< "X 01-10" of a conflict, "U1 Ss" of a disputed area
    std::string about;
    Point place;
    MultiPolygon area;  ///< of a disputed area
};

struct FieldTrip {
    FieldSummary summary;
    std::vector<FieldContact> contacts;
    std::vector<FieldMark> conflicts, disputed;
};

/// `terrain` may be null.
FieldTrip plan_trip(const JudgedSurvey& judged, const geo::Terrain* terrain, const FieldOptions& options);

/// The terrain that a walk may cross; nothing if the survey has none.
std::optional<geo::Terrain> terrain_of_trip(const io::SurveyFile& file, const JudgedSurvey& judged, unsigned threads);

/// WGS 84 longitude and latitude of places, to seven decimals (1 cm).
class ToDegrees {
public:
    /// `box`: of all places to come.
    ToDegrees(const model::Survey& survey, const Box& box);
    Point operator()(Point place) const;
    /// Places that cannot be transformed to degrees are left out.
    Line operator()(const Line& line) const;
    ~ToDegrees();
    ToDegrees(const ToDegrees&) = delete;
    ToDegrees& operator=(const ToDegrees&) = delete;

private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::publish

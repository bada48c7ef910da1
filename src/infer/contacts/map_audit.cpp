#include "subcrop/infer/map_audit.hpp"

#include <cstdio>

namespace subcrop::infer {

void audit_rock_seen(const model::Survey& survey, const geo::UnitMap& map, ProblemLog& problems) {
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const model::Stop& stop = survey.stops[s];
        if (stop.unit_seen == model::no_unit) continue;
        const geo::Location location = map.locate(stop.position);
        if (location.outcome != geo::Location::Outcome::inside || location.unit == stop.unit_seen) continue;
        const double errors = stop.position_sd_m + survey.contact_sd_m;
        // Uses the nearest contact of any units, which raises fewer notes.
        if (map.nearest_contact(stop.position, errors)) continue;
        char reach[40];
        std::snprintf(reach, sizeof reach, "%.0f m", errors);
        const std::string& seen = survey.units[static_cast<std::size_t>(stop.unit_seen)].code;
        const std::string& mapped = survey.units[static_cast<std::size_t>(location.unit)].code;
        problems.add({.severity = Severity::note,
                      .source = survey.source_of(s),
                      .row = stop.row,
                      .field = survey.columns_of(s).of("unit_seen"),
                      .value = seen,
                      .message = "rock of '" + seen + "' was observed here, inside a polygon of '" + mapped +
                                 "' and more than " + reach +
                                 " from every contact, which is what the errors of position and contact allow",
                      .remedy = "Was it a loose block? If not, the draft is wrong here.",
                      .position = stop.position});
    }
}

}  // namespace subcrop::infer

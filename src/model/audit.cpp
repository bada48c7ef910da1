#include "subcrop/model/audit.hpp"

#include <cstddef>
#include <cstdint>
#include <string>
#include <unordered_map>

#include "audit_parts.hpp"

namespace subcrop::model {

void audit(const Survey& survey, const Reduced& reduced, unsigned threads, ProblemLog& problems) {
    audit_profiles(survey, reduced, problems);
    audit_words(survey, reduced, problems);
    audit_stops(survey, threads, problems);
}

std::vector<Problem> with_stops_named(const Survey& survey, std::vector<Problem> problems) {
    std::unordered_map<std::string, std::unordered_map<std::int64_t, std::size_t>>
        wanted;  // rows of a source, then their stops
    constexpr std::size_t unknown = static_cast<std::size_t>(-1);
    for (const Problem& problem : problems) {
        if (problem.stop.empty() && problem.row) wanted[problem.source].emplace(*problem.row, unknown);
    }
    const auto note = [&](const std::string& source, std::int64_t row, std::size_t stop) {
        const auto rows = wanted.find(source);
        if (rows == wanted.end()) return;
        if (const auto found = rows->second.find(row); found != rows->second.end()) found->second = stop;
    };
    if (wanted.empty()) return problems;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const Stop& stop = survey.stops[s];
        note(survey.source_of(s), stop.row, s);
        for (std::size_t h = stop.first_horizon; h < stop.first_horizon + stop.horizon_count; ++h) {
            note(survey.horizon_source_of(s), survey.horizons[h].row, s);
        }
    }
    for (Problem& problem : problems) {
        if (!problem.stop.empty() || !problem.row) continue;
        const std::size_t stop = wanted[problem.source][*problem.row];
        if (stop != unknown) problem.stop = survey.stops[stop].id;
    }
    return problems;
}

}  // namespace subcrop::model

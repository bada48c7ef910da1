// How right a first map is and what the ground about its contacts holds, where the truth is known.
//     first_map_ground --map FILE [--every 1,4,8] SURVEY...
// SURVEY is the survey file of scripts/make_sampledata (--map truth/truth_map.gpkg) or of the open Jura survey (--map
// map.gpkg); its map is replaced by FILE, the truth, and hidden from the reckoning. Rock is seen at every n-th stop; 0:
// at those of the survey.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <sstream>
#include <string>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/publish/prepared_survey.hpp"

namespace {

using namespace subcrop;

/// Whether a place lies within the ground about a contact: within the half-width of the nearest place of it.
bool holds(const infer::RelocatedContact& contact, Point p) {
    for (std::size_t i = 1; i < contact.line.size(); ++i) {
        const Point a = contact.line[i - 1], b = contact.line[i];
        const double dx = b.x - a.x, dy = b.y - a.y, squared = dx * dx + dy * dy;
        const double t = squared > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / squared, 0.0, 1.0) : 0;
        const double half = std::lerp(contact.half_widths_m[i - 1], contact.half_widths_m[i], t);
        if (distance(p, {a.x + t * dx, a.y + t * dy}) <= half) return true;
    }
    return false;
}

void run(const std::string& path, const std::string& map, const std::vector<std::size_t>& rates) {
    ProblemLog problems;
    Progress silent;
    io::SurveyFile file = io::read_survey_file(path);
    file.map->source = map;
    publish::PreparedSurvey data = publish::prepare_survey(file, 0, problems, silent);
    const model::Survey as_noted = data.survey;
    const geo::UnitMap& truth = data.map;
    for (const std::size_t every : rates) {
        model::Survey& survey = data.survey;
        std::size_t seen = 0;
        for (std::size_t s = 0; s < survey.stops.size(); ++s) {
            model::Stop& stop = survey.stops[s];
            if (every == 0)
                stop.unit_seen = as_noted.stops[s].unit_seen;
            else
                stop.unit_seen = s % every == 0 ? truth.unit_at(stop.position) : model::no_unit;
            seen += stop.unit_seen != model::no_unit;
        }
        survey.map_source.clear();
        const infer::RockPrior prior = infer::krige_rock(survey, 0);
        infer::FitOptions options;
        options.prior = prior.at_stops;
        const geo::UnitMap none({}, survey.units.size(), {}, problems);
        const infer::Fit fit = infer::fit_stops(survey, data.reduced, none, 0, problems, silent, options);
        const infer::FirstMap first = infer::draw_first_map(survey, fit, prior, 0);
        const geo::UnitMap drawn(first.polygons, survey.units.size(), {}, problems);
        const infer::Relocation placed = infer::place_contacts(survey, first, drawn, 0);

        double cells = 0, right = 0, in_zone = 0, outside = 0, outside_right = 0;
        for (std::size_t cell = 0; cell < first.grid.units.size(); cell += 3) {
            const Point p = first.grid.centre(cell);
            const auto true_unit = truth.unit_at(p);
            if (first.grid.units[cell] == model::no_unit || true_unit == model::no_unit) continue;
            const bool within =
                std::any_of(placed.contacts.begin(), placed.contacts.end(), [&](const auto& c) { return holds(c, p); });
            const bool good = true_unit == first.grid.units[cell];
            ++cells;
            right += good;
            in_zone += within;
            outside += !within;
            outside_right += !within && good;
        }
        double length = 0, same = 0, any = 0;
        for (const geo::Contact& contact : truth.contacts()) {
            for (std::size_t i = 1; i < contact.line.size(); ++i) {
                const Point a = contact.line[i - 1], b = contact.line[i], p{(a.x + b.x) / 2, (a.y + b.y) / 2};
                if (drawn.unit_at(p) == model::no_unit) continue;
                bool of_pair = false, of_any = false;
                for (std::size_t k = 0; k < placed.contacts.size() && !of_pair; ++k) {
                    const geo::Contact& c = drawn.contacts()[k];
                    const bool pair = c.unit_a == contact.unit_a && c.unit_b == contact.unit_b;
                    if ((of_any && !pair) || !holds(placed.contacts[k], p)) continue;
                    of_any = true;
                    of_pair = of_pair || pair;
                }
                const double step = distance(a, b);
                length += step;
                same += of_pair ? step : 0;
                any += of_any ? step : 0;
            }
        }
        double half = 0, drawn_length = 0;
        for (std::size_t k = 0; k < placed.contacts.size(); ++k) {
            half += placed.contacts[k].location_confidence_m * drawn.contacts()[k].length_m;
            drawn_length += drawn.contacts()[k].length_m;
        }
        std::printf(
            "%s, rock at %zu of %zu: range %.0f m, nugget %.2f; ground right %.2f; zones hold %.2f of it, of true "
            "contacts %.2f (same pair %.2f), "
            "half-width %.0f m; right outside zones %.2f\n",
            path.c_str(), seen, survey.stops.size(), prior.model.range_m,
            prior.model.nugget / (prior.model.nugget + prior.model.sill), right / cells, in_zone / cells, any / length,
            same / length, half / std::max(drawn_length, 1.0), outside_right / std::max(outside, 1.0));
    }
}

}  // namespace

int main(int argc, char** argv) {
    std::string map;
    std::vector<std::size_t> rates{1, 4, 8};
    std::vector<std::string> surveys;
    for (int i = 1; i < argc; ++i) {
        if (std::strcmp(argv[i], "--map") == 0 && i + 1 < argc)
            map = argv[++i];
        else if (std::strcmp(argv[i], "--every") == 0 && i + 1 < argc) {
            rates.clear();
            std::istringstream list(argv[++i]);
            for (std::string word; std::getline(list, word, ',');)
                rates.push_back(static_cast<std::size_t>(std::stoul(word)));
        } else
            surveys.emplace_back(argv[i]);
    }
    if (map.empty() || surveys.empty()) {
        std::fputs("usage: first_map_ground --map FILE [--every 1,4,8] SURVEY...\n", stderr);
        return 2;
    }
    try {
        for (const std::string& survey : surveys) run(survey, map, rates);
    } catch (const Error& error) {
        std::fprintf(stderr, "first_map_ground: %s\n", error.what());
        return 1;
    }
}

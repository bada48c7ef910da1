#include "subcrop/infer/trial.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <string>
#include <utility>

#include "geo/edge_grid.hpp"
#include "infer/statistics/random_draw.hpp"
#include "infer/trial/wrong_draft.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/infer/average_precision.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"

namespace subcrop::infer {

namespace {

constexpr double reach_of_extent = 0.15;  // between the reaches that the shift field tries
constexpr double min_reach = 4;           // in root mean square displacements: shorter warps fold
constexpr double patch_of_extent = 0.05;  // radius of a disc
constexpr double cells = 20'000;          // number of cells of the area that are compared
constexpr double contact_places = 2'000;  // number of places compared along the true contacts

/// A place on the true map, and what lies there.
struct GroundCell {
    Point place;
    model::UnitIndex unit;
};

struct Truth {
    const model::Survey& survey;
    const geo::UnitMap& map;
    std::vector<model::UnitIndex> at_stops;  ///< no_unit off the map
    std::vector<GroundCell> ground;
    struct ContactPlace {
        Point place;
        model::UnitIndex a, b;
    };
    std::vector<ContactPlace> contacts;
    double side = 0;  ///< longer side of the stops' area

    Truth(const model::Survey& s, const geo::UnitMap& m) : survey(s), map(m) {
        Box stops;
        for (const model::Stop& stop : survey.stops) {
            const model::UnitIndex drafted = map.unit_at(stop.position);
            at_stops.push_back(drafted != model::no_unit && stop.unit_seen != model::no_unit ? stop.unit_seen
                                                                                             : drafted);
            if (drafted != model::no_unit) stops.add(stop.position);
        }
        side = std::max({stops.width(), stops.height(), 1.0});
        const double step = std::sqrt(std::max(stops.width(), 1.0) * std::max(stops.height(), 1.0) / cells);
        for (double y = stops.min_y + step / 2; y < stops.max_y; y += step) {
            for (double x = stops.min_x + step / 2; x < stops.max_x; x += step)
                if (const auto unit = map.unit_at({x, y}); unit != model::no_unit) ground.push_back({{x, y}, unit});
        }
        double length = 0;
        for (const geo::Contact& contact : map.contacts()) length += contact.length_m;
        const double spacing = std::max(length / contact_places, 1e-3);
        double left = spacing / 2;
        for (const geo::Contact& contact : map.contacts()) {
            for (std::size_t i = 1; i < contact.line.size(); ++i) {
                const Point from = contact.line[i - 1], to = contact.line[i];
                const double piece = distance(from, to);
                for (; left <= piece && piece > 0; left += spacing) {
                    const Point p{std::lerp(from.x, to.x, left / piece), std::lerp(from.y, to.y, left / piece)};
                    if (stops.contains(p)) contacts.push_back({p, contact.unit_a, contact.unit_b});
                }
                left -= piece;
            }
        }
    }
};

/// Whether the 90 % zone of a contact between these units includes the place.
bool covered(const Truth::ContactPlace& truth, const geo::UnitMap& draft, const Relocation& relocation,
             const std::vector<Box>& boxes) {
    for (std::size_t c = 0; c < draft.contacts().size(); ++c) {
        const geo::Contact& contact = draft.contacts()[c];
        if (contact.unit_a != truth.a || contact.unit_b != truth.b || !boxes[c].contains(truth.place)) continue;
        const Line& line = relocated_line(relocation, draft, c);
        const std::vector<double>& widths = relocation.contacts[c].half_widths_m;
        for (std::size_t i = 1; i < line.size(); ++i) {
            if (line[i - 1] == line[i]) continue;
            const geo::Foot foot = geo::foot_on(line[i - 1], line[i], truth.place);
            const double width = widths.size() == 1 ? widths[0] : std::lerp(widths[i - 1], widths[i], foot.share);
            if (foot.squared_distance <= width * width) return true;
        }
    }
    return false;
}

/// Judges one wrong draft and adds its figures.
void add_draft(const Truth& truth, const model::Reduced& reduced, const geo::UnitMap& draft, unsigned threads,
               TrialFigures& figures) {
    const model::Survey& survey = truth.survey;
    ProblemLog unheard;
    Progress silent;
    FitOptions options;
    options.move_contacts = survey.settings.moves_contacts(survey.stops.size());
    options.find_patches = survey.settings.finds_patches(survey.stops.size());
    const Fit fit = fit_stops(survey, reduced, draft, threads, unheard, silent, options);
    std::vector<std::pair<double, bool>> ranked, by_distance;
    double wrong_stops = 0;
    for (std::size_t s = 0; s < fit.stops.size(); ++s) {
        const StopFit& stop = fit.stops[s];
        if (stop.mapped_unit == model::no_unit || truth.at_stops[s] == model::no_unit) continue;
        const bool wrong = stop.mapped_unit != truth.at_stops[s];
        wrong_stops += wrong;
        ranked.emplace_back(1 - stop.p_mapped, wrong);
        by_distance.emplace_back(stop.contact_distance_m >= 0 ? -stop.contact_distance_m : -1e9, wrong);
        figures.conflicts += stop.verdict == Verdict::conflicts;
        figures.false_conflicts += stop.verdict == Verdict::conflicts && !wrong;
    }
    figures.wrong_stops += ranked.empty() ? 0 : wrong_stops / static_cast<double>(ranked.size());
    figures.found += average_precision(std::move(ranked));
    figures.found_by_distance += average_precision(std::move(by_distance));

    double before = 0, after = 0, spoilt = 0, counted = 0;
    for (const GroundCell& cell : truth.ground) {
        const Point u = fit.shift.field.displacement(cell.place);
        const model::UnitIndex drafted = draft.unit_at(cell.place),
                               moved = draft.unit_at({cell.place.x + u.x, cell.place.y + u.y});
        if (drafted == model::no_unit || moved == model::no_unit) continue;
        counted += 1;
        before += drafted != cell.unit;
        after += moved != cell.unit;
        spoilt += drafted == cell.unit && moved != cell.unit;
    }
    if (counted > 0) {
        figures.ground_wrong_before += before / counted;
        figures.ground_wrong_after += after / counted;
        figures.spoilt += spoilt / counted;
    }

    const Relocation relocation = relocate(survey, draft, fit, threads, unheard);
    std::vector<Box> boxes;
    double width = 0, length = 0;
    for (std::size_t c = 0; c < draft.contacts().size(); ++c) {
        const std::vector<double>& widths = relocation.contacts[c].half_widths_m;
        const double widest = *std::max_element(widths.begin(), widths.end());
        Box box;
        for (const Point p : relocated_line(relocation, draft, c)) {
            box.add(Point{p.x - widest, p.y - widest});
            box.add(Point{p.x + widest, p.y + widest});
        }
        boxes.push_back(box);
        width += relocation.contacts[c].location_confidence_m * draft.contacts()[c].length_m;
        length += draft.contacts()[c].length_m;
    }
    double held = 0;
    for (const Truth::ContactPlace& place : truth.contacts) held += covered(place, draft, relocation, boxes);
    if (!truth.contacts.empty()) figures.zones_cover += held / static_cast<double>(truth.contacts.size());
    if (length > 0) figures.half_width_m += width / length;
    figures.drafts_moved += !fit.shift.field.still();
    figures.drafts += 1;
}

void take_means(TrialFigures& f) {
    for (double* sum : {&f.wrong_stops, &f.found, &f.found_by_distance, &f.ground_wrong_before, &f.ground_wrong_after,
                        &f.spoilt, &f.zones_cover, &f.half_width_m})
        *sum /= std::max(1U, f.drafts);
}

/// Another unit, with probability proportional to its area.
model::UnitIndex other_unit(const geo::UnitMap& map, model::UnitIndex own, RandomDraw& draw) {
    const std::vector<double>& areas = map.unit_areas_m2();
    double total = 0;
    for (std::size_t u = 0; u < areas.size(); ++u) total += static_cast<model::UnitIndex>(u) == own ? 0 : areas[u];
    double left = draw.share() * total;
    model::UnitIndex chosen = own;
    for (std::size_t u = 0; u < areas.size(); ++u) {
        if (static_cast<model::UnitIndex>(u) == own || areas[u] <= 0) continue;
        chosen = static_cast<model::UnitIndex>(u);
        if ((left -= areas[u]) < 0) break;
    }
    return chosen;
}

}  // namespace

Trial try_draft(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map,
                const TrialOptions& options, unsigned threads, Progress& progress) {
    const Truth truth(survey, map);
    std::vector<std::size_t> on_map;
    Trial trial;
    for (std::size_t s = 0; s < truth.at_stops.size(); ++s) {
        if (truth.at_stops[s] == model::no_unit) continue;
        on_map.push_back(s);
        trial.stops_rock_seen += survey.stops[s].unit_seen != model::no_unit;
    }
    assert(!on_map.empty());
    trial.stops = on_map.size();
    trial.reach_m = reach_of_extent * truth.side;
    trial.patch_radius_m = std::max(patch_of_extent * truth.side, 2 * survey.contact_sd_m);

    const std::size_t steps = 1 + options.warps.size() * options.seeds;
    std::size_t done = 0;
    progress.stage("judging the draft as drawn", steps);
    add_draft(truth, reduced, map, threads, trial.unwarped);
    take_means(trial.unwarped);
    progress.stage("judging drafts made wrong on purpose", steps);
    progress.advance(++done);
    geo::UnitMapOptions map_options;
    map_options.contact_sd_m = survey.contact_sd_m;
    map_options.threads = threads;
    for (const double size : options.warps) {
        TrialFigures figures;
        figures.warp_m = size * survey.contact_sd_m;
        for (unsigned seed = 1; seed <= options.seeds; ++seed) {
            RandomDraw draw(survey.settings.seed * 1'000'003ULL + seed);
            const Warp warp(figures.warp_m, std::max(trial.reach_m, min_reach * figures.warp_m), draw.next());
            std::vector<model::MapPolygon> polygons =
                warped(map.polygons(), warp, std::max(survey.contact_sd_m, truth.side / 500));
            for (std::size_t k = 0; k < options.patches; ++k) {
                const Point middle = survey.stops[on_map[draw.below(on_map.size())]].position;
                const model::UnitIndex own = map.unit_at(middle);
                const model::UnitIndex to = other_unit(map, own, draw);
                if (to != own) polygons = relabelled(polygons, own, to, geo::circle(middle, trial.patch_radius_m));
            }
            ProblemLog unheard;
            const geo::UnitMap draft(std::move(polygons), survey.units.size(), map_options, unheard);
            add_draft(truth, reduced, draft, threads, figures);
            progress.advance(++done);
        }
        take_means(figures);
        trial.warped.push_back(figures);
    }
    return trial;
}

}  // namespace subcrop::infer

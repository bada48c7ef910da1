#include "subcrop/infer/first_map.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>
#include <utility>

#include "infer/answer/reckoning.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

constexpr double max_cells = 20'000;
constexpr std::size_t variogram_bins = 15;
constexpr double cutoff_of_diagonal = 1.0 / 3;  // as gstat has it; common practice, no source
constexpr std::size_t max_variogram_stops = 3'000;
constexpr double doubtful_share = 0.05;  // probability of the unit across, at the edge of the doubtful zone
constexpr double min_known = 0.05;       // share of the variance; soil that explains less counts as this
constexpr double longest_walk = 30;      // in cells, from the contact to that edge

Box extent_of(const model::Survey& survey) {
    Box box;
    for (const model::Stop& stop : survey.stops) box.add(stop.position);
    return box;
}

/// Every n-th place, to keep the number of pairs small.
std::vector<SeenRock> thinned(const std::vector<SeenRock>& seen) {
    const std::size_t stride = (seen.size() + max_variogram_stops - 1) / max_variogram_stops;
    std::vector<SeenRock> result;
    for (std::size_t i = 0; i < seen.size(); i += std::max<std::size_t>(1, stride)) result.push_back(seen[i]);
    return result;
}

/// Cells whose centre lies within `reach` of a stop.
std::vector<std::uint8_t> near_a_stop(const model::Survey& survey, const geo::UnitGrid& grid, double reach) {
    std::vector<std::uint8_t> near(grid.columns * grid.rows, 0);
    for (const model::Stop& stop : survey.stops) {
        const auto cell = [&](double at, double origin, std::size_t count) {
            return static_cast<std::size_t>(
                std::clamp((at - origin) / grid.cell_m, 0.0, static_cast<double>(count - 1)));
        };
        const std::size_t west = cell(stop.position.x - reach, grid.origin.x, grid.columns);
        const std::size_t east = cell(stop.position.x + reach, grid.origin.x, grid.columns);
        const std::size_t south = cell(stop.position.y - reach, grid.origin.y, grid.rows);
        const std::size_t north = cell(stop.position.y + reach, grid.origin.y, grid.rows);
        for (std::size_t r = south; r <= north; ++r)
            for (std::size_t c = west; c <= east; ++c)
                if (distance(grid.centre(r * grid.columns + c), stop.position) <= reach) near[r * grid.columns + c] = 1;
    }
    return near;
}

/// Distance from `from` along a direction, within which the unit across has a probability over `doubtful_share`.
double walk(const FirstMap& first, Point from, Point direction, std::size_t here, std::size_t across) {
    const double step = first.grid.cell_m / 2;
    double gone = step;
    for (; gone < longest_walk * first.grid.cell_m; gone += step) {
        const double x = (from.x + gone * direction.x - first.grid.origin.x) / first.grid.cell_m;
        const double y = (from.y + gone * direction.y - first.grid.origin.y) / first.grid.cell_m;
        if (x < 0 || y < 0 || x >= static_cast<double>(first.grid.columns) || y >= static_cast<double>(first.grid.rows))
            break;
        const std::size_t cell = static_cast<std::size_t>(y) * first.grid.columns + static_cast<std::size_t>(x);
        if (first.grid.units[cell] == model::no_unit) break;
        const double own = static_cast<double>(first.probability[cell * first.units + here]);
        const double other = static_cast<double>(first.probability[cell * first.units + across]);
        if (other <= doubtful_share * (own + other)) break;
    }
    return gone;
}

}  // namespace

RockPrior krige_rock(const model::Survey& survey, unsigned threads) {
    const std::size_t units = survey.units.size();
    std::vector<SeenRock> seen;
    std::vector<std::size_t> number_of_stop(survey.stops.size(), IndicatorKriging::none);
    std::vector<std::uint8_t> known(units, 0);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const model::Stop& stop = survey.stops[s];
        if (stop.unit_seen == model::no_unit) continue;
        number_of_stop[s] = seen.size();
        seen.push_back({stop.position, stop.unit_seen});
        known[static_cast<std::size_t>(stop.unit_seen)] = 1;
    }
    const std::string remedy =
        "Name a draft under 'map' in the survey file, however rough, or note the bedrock you observe (unit_seen) at "
        "more stops.";
    if (seen.size() < min_rock_seen) {
        throw Error({survey.stop_source, {}, {}, survey.stop_columns.of("unit_seen")},
                    "there is no draft map, and bedrock was observed at " + std::to_string(seen.size()) +
                        (seen.size() == 1 ? " stop" : " stops") + "; a first map needs at least " +
                        std::to_string(min_rock_seen),
                    remedy);
    }
    if (std::count(known.begin(), known.end(), 1) < 2) {
        throw Error({survey.stop_source, {}, {}, survey.stop_columns.of("unit_seen")},
                    "there is no draft map, and all observed bedrock is of one unit, so there is no contact to find",
                    remedy);
    }
    RockPrior prior;
    prior.stops_rock_seen = seen.size();
    const Box extent = extent_of(survey);
    const double cutoff = std::max(1.0, cutoff_of_diagonal * std::hypot(extent.width(), extent.height()));
    const std::vector<VariogramBin> bins = unit_variogram(thinned(seen), cutoff, variogram_bins);
    prior.model = fit_variogram(bins);
    prior.shows_range = prior.model.shows_range(bins);
    const IndicatorKriging kriging(std::move(seen), units, prior.model);
    prior.shares = kriging.shares();
    prior.at_stops.resize(survey.stops.size() * units);
    parallel_blocks(survey.stops.size(), 64, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> p(units);
        for (std::size_t s = begin; s < end; ++s) {
            kriging.probabilities(survey.stops[s].position, p, number_of_stop[s]);
            std::copy(p.begin(), p.end(), prior.at_stops.begin() + static_cast<std::ptrdiff_t>(s * units));
        }
    });
    return prior;
}

FirstMap draw_first_map(const model::Survey& survey, const Fit& fit, const RockPrior& prior, unsigned threads) {
    const std::size_t units = survey.units.size();
    std::vector<Point> places;
    std::vector<double> values, noise, likelihood(units);
    std::vector<SeenRock> likeliest;
    double at_large = 0;  // total variance of the unit indicators, summed over the units
    for (const double share : prior.shares) at_large += share * (1 - share);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        if (!fit.reckoning->has_evidence(s)) continue;
        fit.reckoning->soil(s, likelihood);
        fit.reckoning->add_rock_seen(s, likelihood);
        const double greatest = *std::max_element(likelihood.begin(), likelihood.end());
        double sum = 0, spread = 0;
        for (std::size_t u = 0; u < units; ++u)
            sum += likelihood[u] = prior.shares[u] * std::exp(likelihood[u] - greatest);
        for (double& p : likelihood) {
            p /= sum;
            spread += p * (1 - p);
        }
        // Posterior probabilities are shrunk towards the shares. The shrinkage is removed, because kriging needs a
        // measurement with its own error.
        likeliest.push_back({survey.stops[s].position,
                             static_cast<model::UnitIndex>(std::max_element(likelihood.begin(), likelihood.end()) -
                                                           likelihood.begin())});
        const double known = std::max(min_known, 1 - spread / at_large);
        for (std::size_t u = 0; u < units; ++u)
            values.push_back(prior.shares[u] + (likelihood[u] - prior.shares[u]) / known);
        places.push_back(survey.stops[s].position);
        noise.push_back((1 - known) / known);
    }
    FirstMap first;
    first.units = units;
    const Box extent = extent_of(survey);
    first.model = prior.model;
    first.shows_range = prior.shows_range;
    if (!prior.shows_range) {  // few observed: the soil of all stops may show better how far a unit extends
        const double cutoff = std::max(1.0, cutoff_of_diagonal * std::hypot(extent.width(), extent.height()));
        const std::vector<VariogramBin> bins = unit_variogram(thinned(likeliest), cutoff, variogram_bins);
        const Variogram by_soil = fit_variogram(bins);
        if (by_soil.shows_range(bins)) {
            first.model = by_soil;
            first.shows_range = true;
        }
    }
    for (double& variance : noise) variance *= first.model.nugget + first.model.sill;
    first.heard = places;
    first.noise = noise;
    const IndicatorKriging kriging(std::move(places), std::move(values), std::move(noise), prior.shares, first.model,
                                   32);

    const double margin = std::min(first.model.range_m, 0.05 * std::max(extent.width(), extent.height()));
    const double width = std::max(extent.width() + 2 * margin, 1.0),
                 height = std::max(extent.height() + 2 * margin, 1.0);
    geo::UnitGrid& grid = first.grid;
    grid.cell_m = std::sqrt(width * height / max_cells);
    grid.columns = static_cast<std::size_t>(std::ceil(width / grid.cell_m));
    grid.rows = static_cast<std::size_t>(std::ceil(height / grid.cell_m));
    grid.origin = {extent.min_x - margin, extent.min_y - margin};
    grid.units.assign(grid.columns * grid.rows, model::no_unit);
    first.probability.assign(grid.units.size() * units, 0.0f);
    const std::vector<std::uint8_t> near = near_a_stop(survey, grid, std::max(first.model.range_m, 2 * grid.cell_m));
    parallel_blocks(grid.units.size(), 64, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> p(units);
        for (std::size_t cell = begin; cell < end; ++cell) {
            if (!near[cell]) continue;
            kriging.probabilities(grid.centre(cell), p);
            std::copy(p.begin(), p.end(), first.probability.begin() + static_cast<std::ptrdiff_t>(cell * units));
            grid.units[cell] = static_cast<model::UnitIndex>(std::max_element(p.begin(), p.end()) - p.begin());
        }
    });
    first.polygons = geo::grid_polygons(grid);
    return first;
}

Relocation place_contacts(const model::Survey& survey, const FirstMap& first, const geo::UnitMap& map,
                          unsigned threads) {
    Relocation relocation;
    relocation.moved = true;  // the first map takes the place of the redrawn draft
    relocation.units = first.polygons;
    const std::vector<geo::Contact>& contacts = map.contacts();
    relocation.contacts.resize(contacts.size());
    relocation.shifts.resize(contacts.size());
    parallel_blocks(contacts.size(), 8, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            const geo::Contact& contact = contacts[i];
            RelocatedContact& placed = relocation.contacts[i];
            placed.line = contact.line;
            const auto left = static_cast<std::size_t>(contact.left);
            const auto right =
                static_cast<std::size_t>(contact.left == contact.unit_a ? contact.unit_b : contact.unit_a);
            double squares = 0;
            for (std::size_t k = 0; k < contact.line.size(); ++k) {
                const Point a = contact.line[k > 0 ? k - 1 : k],
                            b = contact.line[k + 1 < contact.line.size() ? k + 1 : k];
                const double length = std::max(distance(a, b), 1e-9);
                const Point normal{-(b.y - a.y) / length, (b.x - a.x) / length};  // to the left
                const double half = (walk(first, contact.line[k], normal, left, right) +
                                     walk(first, contact.line[k], {-normal.x, -normal.y}, right, left)) /
                                    2;
                placed.half_widths_m.push_back(half);
                squares += half * half;
            }
            placed.location_confidence_m = std::sqrt(squares / static_cast<double>(contact.line.size()));
            // Bedrock of both units observed nearby shows that they meet here.
            bool seen_a = false, seen_b = false;
            for (const model::Stop& stop : survey.stops) {
                if (stop.unit_seen != contact.unit_a && stop.unit_seen != contact.unit_b) continue;
                if (stop.unit_seen == contact.unit_a ? seen_a : seen_b) continue;
                bool near = false;
                for (std::size_t k = 0; k < contact.line.size() && !near; ++k)
                    near = distance(stop.position, contact.line[k]) <= 2 * placed.location_confidence_m;
                (stop.unit_seen == contact.unit_a ? seen_a : seen_b) |= near;
            }
            placed.identity = seen_a && seen_b ? Confidence::certain : Confidence::questionable;
            placed.location = seen_a && seen_b ? LocationClass::approximate : LocationClass::inferred;
        }
    });
    return relocation;
}

void probability_at(const FirstMap& first, Point place, std::span<float> probability) {
    const geo::UnitGrid& grid = first.grid;
    const auto of = [&](double at, double origin, std::size_t count) {
        return static_cast<std::size_t>(std::clamp((at - origin) / grid.cell_m, 0.0, static_cast<double>(count - 1)));
    };
    const std::size_t cell =
        of(place.y, grid.origin.y, grid.rows) * grid.columns + of(place.x, grid.origin.x, grid.columns);
    std::copy_n(&first.probability[cell * first.units], first.units, probability.begin());
}

}  // namespace subcrop::infer

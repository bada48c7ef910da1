#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <unordered_map>

#include "audit_parts.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::model {

namespace {

/// A stop is far off at this many times the usual distance from the middle, and at least this far in metres.
constexpr double far_times = 20;
constexpr double far_m = 2000;
constexpr std::size_t min_stops = 5;
/// Two readings of a receiver never agree to a centimetre.
constexpr double same_place_m = 0.01;
/// A detour shorter than this many position errors may not be real.
constexpr double order_errors = 3;
constexpr std::size_t named_stops = 3;
/// Position errors of this many times the usual, and of this many metres, look like centimetres.
constexpr double error_times = 30;
constexpr double error_m = 100;
/// If a quarter of the stops are at the places of others, the table has them twice.
constexpr std::size_t min_twins = 10;
constexpr std::size_t twins_of_all = 4;
constexpr std::size_t max_strays = 20;

/// Without hypot's care for overflow, which no place on Earth needs and which costs three times as much.
double way(Point a, Point b) { return std::sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y)); }

/// "40 km", "1.5 km", "350 m".
std::string length(double metres) {
    if (metres >= 10'000) return number(metres / 1000, "%.0f km");
    return metres >= 1000 ? number(metres / 1000, "%.1f km") : number(metres, "%.0f m");
}

class Stops {
public:
    Stops(const Survey& survey, unsigned threads, ProblemLog& problems)
        : survey_(survey),
          threads_(threads),
          problems_(problems),
          far_(problems),
          twice_(problems),
          jumps_(problems),
          errors_(problems),
          landforms_(problems) {}

    void look() {
        look_for_far_ones();
        look_for_twins();
        look_at_traverses();
        look_at_errors();
        look_at_sizes_of_errors();
        look_at_landforms();
    }

private:
    Problem problem(const Stop& stop, Severity severity, const char* field, std::string value) const {
        return {.severity = severity,
                .source = survey_.source_of(static_cast<std::size_t>(&stop - survey_.stops.data())),
                .row = stop.row,
                .field = survey_.columns_of(static_cast<std::size_t>(&stop - survey_.stops.data())).of(field),
                .value = std::move(value),
                .message = {},
                .remedy = {},
                .position = stop.position};
    }

    void look_for_far_ones() {
        const std::size_t count = survey_.stops.size();
        // With a map the readers have reported what lies far outside it.
        if (count < min_stops || !survey_.map_source.empty()) return;
        // A sample is enough, because the middle need not be exact.
        const std::size_t step = 1 + count / 20'000;
        std::vector<double> x, y, distances;
        for (std::size_t i = 0; i < count; i += step) {
            x.push_back(survey_.stops[i].position.x);
            y.push_back(survey_.stops[i].position.y);
        }
        const Point middle{median_of(x), median_of(y)};
        for (std::size_t i = 0; i < count; i += step) distances.push_back(distance(survey_.stops[i].position, middle));
        const double usual = median_of(distances);
        const double limit = std::max(far_times * usual, far_m);
        for (const Stop& stop : survey_.stops) {
            const double dx = stop.position.x - middle.x, dy = stop.position.y - middle.y;
            if (dx * dx + dy * dy <= limit * limit) continue;
            Problem found = problem(stop, Severity::warning, "stop", stop.id);
            found.message = "the stop lies " + length(std::hypot(dx, dy)) +
                            " from the middle of the survey; half of the stops lie within " + length(usual) + " of it";
            found.remedy = "Check its coordinates.";
            far_.add(std::move(found));
        }
    }

    /// By an open table of cells a few times as many as stops: a sort would cost three times as much.
    void look_for_twins() {
        const std::vector<Stop>& stops = survey_.stops;
        std::vector<std::uint32_t> table(std::bit_ceil(stops.size() * 2 + 1), 0);
        const std::size_t mask = table.size() - 1;
        std::vector<std::pair<std::uint32_t, std::uint32_t>> twins;
        for (std::size_t i = 0; i < stops.size(); ++i) {
            const Point place = stops[i].position;
            auto key = static_cast<std::uint64_t>(std::llround(place.x / same_place_m)) * 0x9E3779B97F4A7C15U;
            key ^= static_cast<std::uint64_t>(std::llround(place.y / same_place_m)) * 0xC2B2AE3D27D4EB4FU;
            key ^= key >> 29U;
            std::size_t cell = static_cast<std::size_t>(key * 0x9E3779B97F4A7C15U >> 20U) & mask;
            for (; table[cell] != 0; cell = (cell + 1) & mask) {
                const Stop& other = stops[table[cell] - 1];
                if (std::abs(other.position.x - place.x) > same_place_m ||
                    std::abs(other.position.y - place.y) > same_place_m)
                    continue;
                if (!(other.date == stops[i].date)) continue;
                if (stops[i].id.starts_with(other.id + " (")) break;  // a copied row, already reported by its id
                twins.emplace_back(static_cast<std::uint32_t>(i), table[cell] - 1);
                break;
            }
            if (table[cell] == 0) table[cell] = static_cast<std::uint32_t>(i + 1);
        }
        if (twins.size() >= min_twins && twins.size() * twins_of_all >= stops.size()) {
            report_doubled_table(twins);
            return;
        }
        for (const auto& [stop, other] : twins) report_twin(stops[stop], stops[other]);
    }

    void report_doubled_table(const std::vector<std::pair<std::uint32_t, std::uint32_t>>& twins) {
        const Stop& first = survey_.stops[twins.front().first];
        Problem found = problem(first, Severity::warning, "stop", {});
        found.row.reset();
        found.position.reset();
        found.message = std::to_string(twins.size()) + " of " + std::to_string(survey_.stops.size()) +
                        " stops have the same place and date as another one with another id: '" + first.id + "' (row " +
                        std::to_string(first.row) + ") stands on '" + survey_.stops[twins.front().second].id +
                        "' (row " + std::to_string(survey_.stops[twins.front().second].row) +
                        "), and so on. Each is counted twice, so the results look surer than they are";
        found.remedy = "Take out one of the two sets, if the stops were copied.";
        twice_.add(std::move(found));
    }

    void report_twin(const Stop& stop, const Stop& other) {
        Problem found = problem(stop, Severity::warning, "stop", stop.id);
        found.message = "the stop has the same place" + std::string(stop.date.empty() ? "" : " and date") +
                        " as stop '" + other.id + "' (row " + std::to_string(other.row) + "); both are counted";
        found.remedy = "If they are one stop keep one of the two, else correct the place of one.";
        twice_.add(std::move(found));
    }

    void look_at_traverses() {
        // Rows are mostly sorted by traverse, so the last one found is tried first.
        std::unordered_map<Text, std::uint32_t> known;
        std::vector<std::vector<std::uint32_t>> traverses;
        Text last;
        std::uint32_t at = 0;
        for (std::size_t i = 0; i < survey_.stops.size(); ++i) {
            const Stop& stop = survey_.stops[i];
            if (stop.traverse.empty() || !stop.seq) continue;
            if (!(stop.traverse == last)) {
                const auto [found, fresh] =
                    known.try_emplace(stop.traverse, static_cast<std::uint32_t>(traverses.size()));
                if (fresh) traverses.emplace_back();
                last = stop.traverse;
                at = found->second;
            }
            traverses[at].push_back(static_cast<std::uint32_t>(i));
        }
        std::vector<std::vector<std::uint32_t>> astray(traverses.size());
        parallel_blocks(traverses.size(), 512, threads_, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t t = begin; t < end; ++t) astray[t] = out_of_order(traverses[t]);
        });
        for (const auto& strays : astray) {
            if (!strays.empty()) report_order(strays);
        }
    }

    /// Stops of one traverse that would spare a long way if they were visited at another time. Bends and loops cost
    /// nothing.
    std::vector<std::uint32_t> out_of_order(std::vector<std::uint32_t>& stops) const {
        if (stops.size() < min_stops) return {};
        const auto seq = [&](std::uint32_t i) { return *survey_.stops[i].seq; };
        if (!std::is_sorted(stops.begin(), stops.end(), [&](auto a, auto b) { return seq(a) < seq(b); }))
            std::stable_sort(stops.begin(), stops.end(), [&](auto a, auto b) { return seq(a) < seq(b); });
        const std::size_t count = stops.size();
        std::vector<Point> places;
        double sd = 0;
        for (const std::uint32_t i : stops) {
            places.push_back(survey_.stops[i].position);
            sd = std::max(sd, survey_.stops[i].position_sd_m);
        }
        std::vector<double> legs;
        for (std::size_t k = 1; k < count; ++k) legs.push_back(way(places[k - 1], places[k]));
        const auto longest = static_cast<std::size_t>(std::max_element(legs.begin(), legs.end()) - legs.begin());
        const double longest_leg = legs[longest], usual = median_of(legs);
        const double limit = std::max(usual, order_errors * 2 * sd);  // two stops are in error
        std::vector<std::uint32_t> strays;
        // The worst is removed before the next is searched, because its neighbours look wrong too.
        std::vector<std::uint32_t> rest = stops;
        while (rest.size() >= min_stops && strays.size() < max_strays) {
            double most = limit;
            std::size_t worst = rest.size();
            for (std::size_t k = 0; k < rest.size(); ++k) {
                if (way_spared_without(places, k) <= most) continue;
                if (const double spared = way_spared_elsewhere(places, k); spared > most) {
                    most = spared;
                    worst = k;
                }
            }
            if (worst == rest.size()) break;
            strays.push_back(rest[worst]);
            rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(worst));
            places.erase(places.begin() + static_cast<std::ptrdiff_t>(worst));
        }
        // The rest of the traverse numbered from its far end.
        if (strays.empty() && longest_leg - way(places[longest], places.back()) > 2 * limit)
            strays.push_back(stops[longest + 1]);
        return strays;
    }

    static double way_spared_without(const std::vector<Point>& places, std::size_t k) {
        if (k == 0) return way(places[0], places[1]);
        if (k + 1 == places.size()) return way(places[k - 1], places[k]);
        return way(places[k - 1], places[k]) + way(places[k], places[k + 1]) - way(places[k - 1], places[k + 1]);
    }

    /// By the best other time to visit stop k.
    static double way_spared_elsewhere(const std::vector<Point>& places, std::size_t k) {
        const std::size_t last = places.size() - 1;
        double cost = std::numeric_limits<double>::infinity();
        for (std::size_t b = 1; b <= last; ++b) {
            if (b == k || b - 1 == k) continue;
            cost = std::min(cost,
                            way(places[b - 1], places[k]) + way(places[k], places[b]) - way(places[b - 1], places[b]));
        }
        if (k != 0) cost = std::min(cost, way(places[k], places[0]));
        if (k != last) cost = std::min(cost, way(places[k], places[last]));
        return way_spared_without(places, k) - cost;
    }

    void report_order(const std::vector<std::uint32_t>& strays) {
        const Stop& first = survey_.stops[strays.front()];
        std::string names;
        for (std::size_t k = 0; k < std::min(strays.size(), named_stops); ++k)
            names += (k > 0 ? ", '" : "'") + survey_.stops[strays[k]].id + "'";
        if (strays.size() > named_stops) names += " and " + std::to_string(strays.size() - named_stops) + " more";
        Problem found = problem(first, Severity::warning, "seq", number(*first.seq));
        found.message = "the order of traverse '" + first.traverse.str() + "' jumps to and fro: out of line " +
                        (strays.size() == 1 ? "is stop " : "are stops ") + names;
        found.remedy = "Number the stops of a traverse in the order in which they lie.";
        jumps_.add(std::move(found));
    }

    /// If no stop states an error, the default of the settings is meant. If some do, the others were forgotten.
    void look_at_errors() {
        std::size_t missing = 0;
        std::string names;
        const Stop* first = nullptr;
        for (const Stop& stop : survey_.stops) {
            if (stop.position_sd_stated) continue;
            if (first == nullptr) first = &stop;
            if (++missing <= named_stops) names += (missing > 1 ? ", '" : "'") + stop.id + "'";
        }
        if (missing == 0 || missing == survey_.stops.size()) return;
        if (missing > named_stops) names += " and " + std::to_string(missing - named_stops) + " more";
        Problem found = problem(*first, Severity::note, "position_sd_m", {});
        if (missing > 1) found.row.reset();
        if (missing > 1) found.position.reset();
        found.message = (missing == 1 ? "stop " + names + " states" : "stops " + names + " state") +
                        " no error of position; " + number(survey_.settings.default_position_sd_m) + " m is taken";
        found.remedy = "Write what the receiver showed, or set settings.default_position_sd_m.";
        problems_.add(std::move(found));
    }

    void look_at_sizes_of_errors() {
        std::vector<double> stated;
        for (const Stop& stop : survey_.stops) {
            if (stop.position_sd_stated) stated.push_back(stop.position_sd_m);
        }
        if (stated.size() < min_stops) return;
        const double usual = median_of(stated);
        if (usual >= error_m) {
            Problem found = problem(survey_.stops.front(), Severity::warning, "position_sd_m", {});
            found.row.reset();
            found.position.reset();
            found.message = "half of the stops state an error of position of " + number(std::round(usual)) +
                            " m or more; a satellite receiver has some 3 to 15 m";
            found.remedy = "If they were written in centimetres or feet, write metres.";
            errors_.add(std::move(found));
            return;
        }
        for (const Stop& stop : survey_.stops) {
            if (!stop.position_sd_stated || stop.position_sd_m < std::max(error_m, error_times * usual)) continue;
            Problem found = problem(stop, Severity::warning, "position_sd_m", number(std::round(stop.position_sd_m)));
            found.message = "the error of position is far from the usual " + number(usual, "%.2g") +
                            " m, so the stop says almost nothing";
            found.remedy =
                "If it was written in centimetres, write metres: " + number(stop.position_sd_m / 100, "%.2g") + ".";
            errors_.add(std::move(found));
        }
    }

    /// Once for each landform no word of which is known.
    void look_at_landforms() {
        struct Unknown {
            const Stop* first;
            std::size_t stops;
        };
        std::unordered_map<Text, std::size_t> seen;  // where in `unknown`, from 1; 0: known
        std::vector<Unknown> unknown;
        for (const Stop& stop : survey_.stops) {
            if (stop.landform.empty()) continue;
            const auto [entry, fresh] = seen.try_emplace(stop.landform, 0);
            if (fresh && !field::knows_landform(stop.landform.str(), survey_.parent_material)) {
                unknown.push_back({&stop, 0});
                entry->second = unknown.size();
            }
            if (entry->second > 0) ++unknown[entry->second - 1].stops;
        }
        for (const Unknown& landform : unknown) {
            Problem found = problem(*landform.first, Severity::note, "landform", landform.first->landform.str());
            if (landform.stops > 1) found.position.reset();
            found.message =
                "no word of this landform is known, so it does not help to tell whether the soil is transported" +
                (landform.stops > 1 ? " (" + std::to_string(landform.stops) + " stops)" : std::string());
            found.remedy =
                "Write a landform such as shoulder, footslope or flood plain, or give the word its weights under "
                "parent_material_weights.";
            landforms_.add(std::move(found));
        }
    }

    const Survey& survey_;
    unsigned threads_;
    ProblemLog& problems_;
    Findings far_, twice_, jumps_, errors_, landforms_;
};

}  // namespace

void audit_stops(const Survey& survey, unsigned threads, ProblemLog& problems) {
    if (survey.stops.empty()) return;
    Stops(survey, threads, problems).look();
}

}  // namespace subcrop::model

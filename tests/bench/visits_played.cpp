// What next stops are worth: invented surveys are judged, ten more stops are dug where the program suggests them (or
// evenly along the contacts, or at random), and the survey is judged again from the start. What would be noted is that
// of a stop over the true unit in a second survey of the same land, FOLDER-dense. The figure is the area that the
// revised map shows wrong, in hectares.
//     visits_played [--visits 10] [--repeats 3] [--suggested-only] [--alike METRES] FOLDER...      each made by
//     scripts/make_sampledata, as FOLDER-dense
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/io/survey_reader.hpp"

namespace {

using namespace subcrop;

constexpr double cell_m = 20;

struct Judged {
    model::Reduced reduced;
    geo::UnitMap map;
    infer::Fit fit;
    infer::Relocation relocation;
    std::vector<model::MapPolygon> revised;

    explicit Judged(const model::Survey& survey)
        : reduced([&] {
              ProblemLog unheard;
              return model::reduce(survey, unheard);
          }()),
          map([&] {
              ProblemLog unheard;
              return geo::UnitMap(survey.map, survey.units.size(), {.contact_sd_m = survey.contact_sd_m}, unheard);
          }()) {
        ProblemLog unheard;
        Progress silent;
        fit = infer::fit_stops(survey, reduced, map, 0, unheard, silent);
        relocation = infer::relocate(survey, map, fit, 0, unheard);
        revised = infer::polygons_of(infer::revise_map(survey, map, fit, relocation, 0), map);
    }
};

class World {
public:
    explicit World(const std::filesystem::path& folder) {
        Progress silent;
        ProblemLog unheard;
        io::SurveyFile file = io::read_survey_file(folder / "survey.json");
        survey_ = io::read_survey(file, 0, unheard, silent);
        file.map->source = "truth/truth_map.gpkg";
        const model::Survey truth = io::read_survey(file, 0, unheard, silent);
        truth_.emplace(truth.map, truth.units.size(), geo::UnitMapOptions{}, unheard);
        judged_.emplace(survey_);
        second_ = io::read_survey(io::read_survey_file(folder.string() + "-dense/survey.json"), 0, unheard, silent);
        stops_over_.resize(survey_.units.size());
        for (std::size_t s = 0; s < second_.stops.size(); ++s) {
            const model::UnitIndex unit = truth_->unit_at(second_.stops[s].position);
            if (unit != model::no_unit) stops_over_[static_cast<std::size_t>(unit)].push_back(s);
        }
    }
    const model::Survey& survey() const { return survey_; }
    const Judged& judged() const { return *judged_; }

    double wrong_ha(const std::vector<model::MapPolygon>& drawn) const {
        ProblemLog unheard;
        const geo::UnitMap map(drawn, survey_.units.size(), {}, unheard);
        const Box box = truth_->extent();
        double cells = 0;
        for (double x = box.min_x + cell_m / 2; x < box.max_x; x += cell_m)
            for (double y = box.min_y + cell_m / 2; y < box.max_y; y += cell_m) {
                const model::UnitIndex right = truth_->unit_at({x, y});
                cells += right != model::no_unit && map.unit_at({x, y}) != right;
            }
        return cells * cell_m * cell_m / 1e4;
    }

    /// After stops at these places, each missed by the error of a hand-held receiver.
    double wrong_after_ha(const std::vector<Point>& places, std::mt19937_64& random) const {
        model::Survey more = survey_;
        std::normal_distribution<double> miss(0, 5);
        for (const Point& place : places) {
            const Point dug{place.x + miss(random), place.y + miss(random)};
            const model::UnitIndex unit = truth_->unit_at(dug);
            if (unit == model::no_unit || stops_over_[static_cast<std::size_t>(unit)].empty()) continue;
            const std::vector<std::size_t>& like = stops_over_[static_cast<std::size_t>(unit)];
            const std::size_t donor = like[random() % like.size()];
            model::Stop stop = second_.stops[donor];
            stop.id = "visit " + std::to_string(more.stops.size());
            stop.position = place;
            stop.position_sd_m = 5;
            stop.traverse = {};
            stop.unit_seen = model::no_unit;
            const auto horizons = second_.horizons.begin() + stop.first_horizon;
            stop.first_horizon = static_cast<std::uint32_t>(more.horizons.size());
            more.horizons.insert(more.horizons.end(), horizons, horizons + stop.horizon_count);
            for (std::size_t e = 0; e < more.evidence.size(); ++e) {
                const std::size_t columns = more.evidence[e].numbers.size() / more.stops.size();
                const auto numbers = second_.evidence[e].numbers.begin() + static_cast<std::ptrdiff_t>(donor * columns);
                more.evidence[e].numbers.insert(more.evidence[e].numbers.end(), numbers,
                                                numbers + static_cast<std::ptrdiff_t>(columns));
                if (!more.evidence[e].texts.empty()) more.evidence[e].texts.push_back(second_.evidence[e].texts[donor]);
            }
            more.carried.clear();
            more.stops.push_back(stop);
        }
        return wrong_ha(Judged(more).revised);
    }

    std::vector<Point> along_contacts(std::size_t count, std::mt19937_64& random, bool evenly) const {
        double length = 0;
        for (const geo::Contact& contact : judged_->map.contacts()) length += contact.length_m;
        std::uniform_real_distribution<double> share(0, 1);
        const double start = share(random);
        std::vector<Point> places;
        for (std::size_t i = 0; i < count; ++i) {
            double left =
                length * (evenly ? (static_cast<double>(i) + start) / static_cast<double>(count) : share(random));
            for (std::size_t c = 0; c < judged_->map.contacts().size() && left >= 0; ++c) {
                const Line& line = infer::relocated_line(judged_->relocation, judged_->map, c);
                for (std::size_t k = 1; k < line.size() && left >= 0; ++k) {
                    left -= distance(line[k - 1], line[k]);
                    if (left < 0) places.push_back(line[k]);
                }
            }
        }
        return places;
    }

    std::vector<Point> anywhere(std::size_t count, std::mt19937_64& random) const {
        const Box box = truth_->extent();
        std::uniform_real_distribution<double> share(0, 1);
        std::vector<Point> places;
        while (places.size() < count)
            places.push_back({box.min_x + share(random) * box.width(), box.min_y + share(random) * box.height()});
        return places;
    }

private:
    model::Survey survey_, second_;
    std::optional<geo::UnitMap> truth_;
    std::optional<Judged> judged_;
    std::vector<std::vector<std::size_t>> stops_over_;  ///< of the second survey, by their true unit
};

}  // namespace

int main(int argc, char** argv) try {
    std::size_t visits = 10, repeats = 3, ways = 4;
    std::optional<double> alike_m;
    std::vector<std::filesystem::path> folders;
    for (int i = 1; i < argc; ++i) {
        if (std::strcmp(argv[i], "--visits") == 0 && i + 1 < argc)
            visits = std::strtoul(argv[++i], nullptr, 10);
        else if (std::strcmp(argv[i], "--repeats") == 0 && i + 1 < argc)
            repeats = std::strtoul(argv[++i], nullptr, 10);
        else if (std::strcmp(argv[i], "--suggested-only") == 0)
            ways = 1;
        else if (std::strcmp(argv[i], "--alike") == 0 && i + 1 < argc)
            alike_m = std::strtod(argv[++i], nullptr);
        else
            folders.emplace_back(argv[i]);
    }
    if (folders.empty() || repeats == 0) {
        std::fputs("usage: visits_played [--visits 10] [--repeats 3] [--suggested-only] [--alike METRES] FOLDER...\n",
                   stderr);
        return 2;
    }
    std::printf("%-18s %8s %5s %8s | %s\n", "survey", "wrong ha", "stops", "expected",
                "fall of it: suggested, evenly along contacts, at random along them, anywhere (ha)");
    std::vector<double> sums(ways + 1, 0.0);
    for (const std::filesystem::path& folder : folders) {
        const World world(folder);
        const Judged& judged = world.judged();
        const double before = world.wrong_ha(judged.revised);
        const auto suggested = infer::suggest_next_stops(world.survey(), judged.map, judged.fit, judged.relocation,
                                                         {.count = visits, .position_sd_m = 5, .alike_m = alike_m}, 0);
        double expected = 0;
        std::vector<Point> places;
        for (const infer::NextStop& stop : suggested) {
            expected += stop.gain_ha;
            places.push_back(stop.place);
        }
        std::vector<double> falls(ways, 0.0);
        for (std::size_t r = 0; r < repeats; ++r) {
            for (std::size_t way = 0; way < falls.size(); ++way) {
                std::mt19937_64 random(1000 * r + way + 1);
                const std::vector<Point> at = way == 0   ? places
                                              : way == 3 ? world.anywhere(visits, random)
                                                         : world.along_contacts(visits, random, way == 1);
                falls[way] += (before - world.wrong_after_ha(at, random)) / static_cast<double>(repeats);
            }
        }
        std::printf("%-18s %8.1f %5zu %8.2f |", folder.filename().c_str(), before, suggested.size(), expected);
        for (const double fall : falls) std::printf(" %6.2f", fall);
        std::printf("\n");
        std::fflush(stdout);
        sums[0] += expected;
        for (std::size_t way = 0; way < falls.size(); ++way) sums[way + 1] += falls[way];
    }
    std::printf("mean: expected %.2f; fell by", sums[0] / static_cast<double>(folders.size()));
    for (std::size_t way = 1; way < sums.size(); ++way)
        std::printf(" %.2f", sums[way] / static_cast<double>(folders.size()));
    std::printf(" ha\n");
    return 0;
} catch (const subcrop::Error& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}

// How long a terrain takes at many stops, the reading included.
//     terrain_speed DEM STOPS
// STOPS places drawn at random over the raster. Prints one line: seconds of each part and the peak of memory.
#include <sys/resource.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <optional>
#include <random>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/geo/creep.hpp"
#include "subcrop/geo/terrain_at_stops.hpp"
#include "subcrop/io/terrain_reader.hpp"

int main(int argc, char** argv) {
    if (argc < 3) {
        std::fputs("usage: terrain_speed DEM STOPS\n", stderr);
        return 2;
    }
    using namespace subcrop;
    auto seconds = [start = std::chrono::steady_clock::now()]() mutable {
        const auto now = std::chrono::steady_clock::now();
        const double passed = std::chrono::duration<double>(now - start).count();
        start = now;
        return passed;
    };
    try {
        ProblemLog problems;
        io::SurveyFile file;
        file.path = "survey.json";
        io::TerrainDescription description;
        description.source = argv[1];
        const io::TerrainRead read = io::read_terrain(file, description, "", std::nullopt, 0, problems);
        const double reading = seconds();
        const geo::HeightGrid& grid = read.terrain->grid();
        std::mt19937_64 random(1);
        const auto share = [&random] { return static_cast<double>(random() >> 11U) * 0x1.0p-53; };
        std::vector<Point> places(std::strtoul(argv[2], nullptr, 10));
        for (Point& place : places) {
            place = {grid.west() + share() * grid.cell_m() * static_cast<double>(grid.columns()),
                     grid.north() - share() * grid.cell_m() * static_cast<double>(grid.rows())};
        }
        const auto ground = geo::terrain_at(*read.terrain, places, 0);
        const double asking = seconds();
        const std::vector<std::optional<double>> cover_cm(places.size());
        const auto sources = geo::trace_creep(*read.terrain, places, ground, cover_cm, {}, 60, 0);
        const double creeping = seconds();
        rusage usage{};
        getrusage(RUSAGE_SELF, &usage);
        std::printf("cells %lldx%lld stops %zu reading %.1f asking %.1f creep %.1f peak_gb %.2f\n",
                    static_cast<long long>(grid.columns()), static_cast<long long>(grid.rows()), places.size(), reading,
                    asking, creeping, static_cast<double>(usage.ru_maxrss) / 1e6);
    } catch (const Error& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 1;
    }
    return 0;
}

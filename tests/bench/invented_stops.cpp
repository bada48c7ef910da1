#include "bench/invented_stops.hpp"

#include <cmath>
#include <cstdio>
#include <numbers>

#include "bench/random.hpp"

namespace subcrop::bench {

namespace {

constexpr double stride_m = 60;

std::string date_of_traverse(std::size_t traverse) {
    char text[16];
    // Field seasons of 150 days from May to September, a hundred traverses a day; months are taken as 30 days.
    const unsigned day = static_cast<unsigned>(traverse / 100 % 150);
    std::snprintf(text, sizeof text, "%04u-%02u-%02u", 2019U + static_cast<unsigned>(traverse / 15'000 % 50),
                  5 + day / 30, 1 + day % 30);
    return text;
}

}  // namespace

void walk(const InventedGround& ground, const InventedSoils& soils, std::size_t count, std::uint64_t seed,
          const std::function<void(const InventedStop&)>& take, const WalkOptions& options) {
    Random random(seed);
    const Box box = ground.extent();
    const std::size_t traverses = (count + options.stops_in_traverse - 1) / options.stops_in_traverse;
    const auto sheets_across =
        std::max<std::size_t>(1, static_cast<std::size_t>(std::sqrt(static_cast<double>(traverses))));
    const std::size_t sheets_up = (traverses + sheets_across - 1) / sheets_across;
    InventedStop stop;
    std::size_t made = 0;
    for (std::size_t traverse = 0; traverse < traverses; ++traverse) {
        const auto column = static_cast<double>(traverse % sheets_across);
        const auto row = static_cast<double>(traverse / sheets_across);
        Point place;
        std::int64_t polygon = -1;
        while (polygon < 0) {
            place = {box.min_x + box.width() * (column + random.uniform()) / static_cast<double>(sheets_across),
                     box.min_y + box.height() * (row + random.uniform()) / static_cast<double>(sheets_up)};
            polygon = ground.polygon_at(place);
        }
        double heading = random.uniform(0, 2 * std::numbers::pi);
        stop.traverse = traverse + 1;
        stop.date = date_of_traverse(traverse);
        for (std::size_t seq = 1; seq <= options.stops_in_traverse && made < count; ++seq, ++made) {
            stop.seq = seq;
            stop.rock = ground.rock(static_cast<std::size_t>(polygon));
            stop.rock_seen = random.chance(0.01);
            stop.position_sd_m = std::round(random.uniform(3, 12));
            const double dx = random.normal(0, stop.position_sd_m);
            const double dy = random.normal(0, stop.position_sd_m);
            stop.position = {place.x + dx, place.y + dy};
            stop.soil = soils.note(stop.rock, random);
            take(stop);
            for (;;) {  // turn round at the edge of the mesh
                heading += random.normal(0, options.turn_rad);
                const double step = random.uniform(0.5, 1.5) * stride_m;
                const Point next{place.x + step * std::cos(heading), place.y + step * std::sin(heading)};
                if (const std::int64_t there = ground.polygon_at(next); there >= 0) {
                    place = next;
                    polygon = there;
                    break;
                }
                heading = random.uniform(0, 2 * std::numbers::pi);
            }
        }
    }
}

}  // namespace subcrop::bench

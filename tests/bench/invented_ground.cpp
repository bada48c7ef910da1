#include "bench/invented_ground.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "bench/random.hpp"

namespace subcrop::bench {

namespace {

// South-west corner of the mesh in UTM zone 33 north; the mesh grows to the north and east.
constexpr Point corner{420'000, 5'300'000};

// With corners moved by at most 0.12 of a side, two sides meet at no less than 90 - 2 atan(0.24 / 0.76) = 55 degrees.
// The displacements below turn a line by at most the sum of atan(2 k) = 27.2 degrees from its chord, so that no two
// sides cross.
constexpr double corner_shift = 0.12;
constexpr std::array<double, 5> displacement{0.06, 0.06, 0.05, 0.04, 0.03};  // of the segment's length, level by level

std::vector<Point> fractal(Point from, Point to, Random& random) {
    std::vector<Point> line(InventedGround::segments + 1);
    line.front() = from;
    line.back() = to;
    std::size_t step = InventedGround::segments;
    for (const double most : displacement) {
        for (std::size_t i = 0; i < InventedGround::segments; i += step) {
            const Point a = line[i];
            const Point b = line[i + step];
            const double k = random.uniform(-most, most);
            line[i + step / 2] = {(a.x + b.x) / 2 - k * (b.y - a.y), (a.y + b.y) / 2 + k * (b.x - a.x)};
        }
        step /= 2;
    }
    return line;
}

/// A smooth random field: plane waves of 5 to 14 polygons' length.
struct Field {
    struct Wave {
        double x, y, phase;
    };
    std::array<Wave, 8> waves;

    explicit Field(Random& random) {
        for (Wave& wave : waves) {
            const double length = random.uniform(5, 14);
            const double direction = random.uniform(0, 2 * std::numbers::pi);
            wave = {2 * std::numbers::pi * std::cos(direction) / length,
                    2 * std::numbers::pi * std::sin(direction) / length, random.uniform(0, 2 * std::numbers::pi)};
        }
    }
    double at(double column, double row) const {
        double sum = 0;
        for (const Wave& wave : waves) sum += std::cos(wave.x * column + wave.y * row + wave.phase);
        return sum;
    }
};

}  // namespace

InventedGround::InventedGround(std::size_t polygons, std::size_t units, std::uint64_t seed, bool finer)
    : units_(units) {
    // As near a square as holds exactly so many, else about so many.
    const double root = std::sqrt(static_cast<double>(polygons));
    columns_ = std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(root)));
    for (auto side = static_cast<std::size_t>(root); static_cast<double>(side) > 0.5 * root; --side) {
        if (polygons % side == 0) {
            columns_ = side;
            break;
        }
    }
    rows_ = std::max<std::size_t>(1, (polygons + columns_ / 2) / columns_);
    place_nodes(seed);
    draw_edges(seed + 1);
    choose_units(seed + 2);
    if (finer) make_finer();
}

void InventedGround::place_nodes(std::uint64_t seed) {
    Random random(seed);
    nodes_.resize((columns_ + 1) * (rows_ + 1));
    for (std::size_t row = 0; row <= rows_; ++row) {
        for (std::size_t column = 0; column <= columns_; ++column) {
            const double dx = random.uniform(-corner_shift, corner_shift);
            const double dy = random.uniform(-corner_shift, corner_shift);
            node(column, row) = {corner.x + side_m * (static_cast<double>(column) + dx),
                                 corner.y + side_m * (static_cast<double>(row) + dy)};
        }
    }
}

void InventedGround::draw_edges(std::uint64_t seed) {
    Random random(seed);
    for (std::size_t row = 0; row <= rows_; ++row) {
        for (std::size_t column = 0; column < columns_; ++column) {
            eastward_.push_back(fractal(node(column, row), node(column + 1, row), random));
        }
    }
    for (std::size_t row = 0; row < rows_; ++row) {
        for (std::size_t column = 0; column <= columns_; ++column) {
            northward_.push_back(fractal(node(column, row), node(column, row + 1), random));
        }
    }
}

void InventedGround::make_finer() {
    constexpr double k = 0.02;  // turns the line by 2.3 degrees more, so that sides still do not cross
    for (std::vector<Edge>* edges : {&eastward_, &northward_}) {
        for (Edge& line : *edges) {
            const std::size_t middle = segments / 2;
            const Point a = line[middle], b = line[middle + 1];
            line.insert(line.begin() + middle + 1,
                        {(a.x + b.x) / 2 - k * (b.y - a.y), (a.y + b.y) / 2 + k * (b.x - a.x)});
        }
    }
}

void InventedGround::choose_units(std::uint64_t seed) {
    Random random(seed);
    std::vector<Field> fields;
    for (std::size_t unit = 0; unit < units_; ++unit) fields.emplace_back(random);
    for (std::size_t row = 0; row < rows_; ++row) {
        for (std::size_t column = 0; column < columns_; ++column) {
            std::size_t best = 0;
            double highest = -1e9;
            for (std::size_t unit = 0; unit < units_; ++unit) {
                const double height = fields[unit].at(static_cast<double>(column), static_cast<double>(row));
                if (height > highest) {
                    highest = height;
                    best = unit;
                }
            }
            rock_.push_back(best);
            drafted_.push_back(random.chance(0.02) ? random.index(units_) : best);
        }
    }
}

Ring InventedGround::polygon(std::size_t index) const {
    const std::size_t column = index % columns_;
    const std::size_t row = index / columns_;
    const Edge& south = eastward_[row * columns_ + column];
    const Edge& east = northward_[row * (columns_ + 1) + column + 1];
    const Edge& north = eastward_[(row + 1) * columns_ + column];
    const Edge& west = northward_[row * (columns_ + 1) + column];
    Ring ring;
    ring.reserve(4 * segments + 1);
    ring.insert(ring.end(), south.begin(), south.end() - 1);
    ring.insert(ring.end(), east.begin(), east.end() - 1);
    ring.insert(ring.end(), north.rbegin(), north.rend() - 1);
    ring.insert(ring.end(), west.rbegin(), west.rend());
    return ring;
}

bool InventedGround::inside(std::size_t index, Point place) const {
    const Ring ring = polygon(index);
    bool in = false;
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        const Point a = ring[i];
        const Point b = ring[i + 1];
        if ((a.y > place.y) != (b.y > place.y) && place.x < a.x + (place.y - a.y) / (b.y - a.y) * (b.x - a.x)) in = !in;
    }
    return in;
}

std::int64_t InventedGround::polygon_at(Point place) const {
    const auto column = static_cast<std::int64_t>(std::floor((place.x - corner.x) / side_m));
    const auto row = static_cast<std::int64_t>(std::floor((place.y - corner.y) / side_m));
    // The square itself first: it is right four times out of five.
    static constexpr std::array<std::array<int, 2>, 9> order{
        {{0, 0}, {1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, 1}, {1, -1}, {-1, -1}}};
    for (const auto& [dx, dy] : order) {
        const std::int64_t c = column + dx;
        const std::int64_t r = row + dy;
        if (c < 0 || r < 0 || c >= static_cast<std::int64_t>(columns_) || r >= static_cast<std::int64_t>(rows_))
            continue;
        const std::int64_t index = r * static_cast<std::int64_t>(columns_) + c;
        if (inside(static_cast<std::size_t>(index), place)) return index;
    }
    return -1;
}

Box InventedGround::extent() const {
    Box box;
    for (const Edge& edge : eastward_) {
        for (const Point p : edge) box.add(p);
    }
    for (const Edge& edge : northward_) {
        for (const Point p : edge) box.add(p);
    }
    return box;
}

}  // namespace subcrop::bench

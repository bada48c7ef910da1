#include "infer/contacts/cut_edges.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

namespace {

bool before(Point p, Point q) { return p.x < q.x || (p.x == q.x && p.y < q.y); }

}  // namespace

Line cut_edges(const Line& line, double step_m) {
    Line result;
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
        const bool turned = before(line[i + 1], line[i]);
        const Point low = turned ? line[i + 1] : line[i], high = turned ? line[i] : line[i + 1];
        const int pieces = std::max(1, static_cast<int>(std::ceil(distance(low, high) / step_m)));
        result.push_back(line[i]);
        for (int k = 1; k < pieces; ++k) {
            const double t = static_cast<double>(turned ? pieces - k : k) / pieces;
            result.push_back({low.x + t * (high.x - low.x), low.y + t * (high.y - low.y)});
        }
    }
    result.push_back(line.back());
    return result;
}

}  // namespace subcrop::infer

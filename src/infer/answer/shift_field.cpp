#include "subcrop/infer/shift_field.hpp"

#include <algorithm>
#include <cmath>

#include "infer/answer/shift_state.hpp"

namespace subcrop::infer {

ShiftField::ShiftField() = default;
ShiftField::ShiftField(ShiftField&&) noexcept = default;
ShiftField& ShiftField::operator=(ShiftField&&) noexcept = default;
ShiftField::~ShiftField() = default;

bool ShiftField::still() const { return state == nullptr; }
double ShiftField::amplitude_m() const { return still() ? 0 : state->amplitude_m; }
double ShiftField::reach_m() const { return still() ? 0 : state->reach_m; }
double ShiftField::residual_m() const { return still() ? 0 : state->residual_m; }
bool ShiftField::settled() const { return still() || state->settled; }

Point ShiftField::mean(Point place) const { return still() ? Point{} : state->mean(place); }

Point ShiftField::displacement(Point place) const {
    const Point u = mean(place);
    const double share = trust(place);
    return {share * u.x, share * u.y};
}

double ShiftField::trust(Point place) const { return still() ? 0 : state->trust(place); }

std::array<double, 3> ShiftField::covariance(Point place) const {
    return still() ? std::array<double, 3>{} : state->covariance(place);
}

void ShiftField::ready_for_many_places(unsigned threads) {
    if (!still()) state->ready_for_many_places(threads);
}

double ShiftField::sd_m(Point place) const {
    const auto c = covariance(place);
    return std::sqrt(std::max(0.0, (c[0] + c[2]) / 2));
}

std::array<double, 4> ShiftField::gradient(Point place) const {
    return still() ? std::array<double, 4>{} : state->gradient(place);
}

Point ShiftField::true_place(Point drafted) const {
    if (still()) return drafted;
    // Solves x + u(x) = drafted by Newton's method. Where the field is steep it uses fixed-point iteration, which
    // converges for any field that does not fold.
    Point x = drafted;
    for (int iteration = 0; iteration < 50; ++iteration) {
        const Point u = displacement(x);
        const Point miss{drafted.x - x.x - u.x, drafted.y - x.y - u.y};
        if (std::hypot(miss.x, miss.y) < 1e-6) break;
        const auto g = gradient(x);
        const double a = 1 + g[0], b = g[1], c = g[2], d = 1 + g[3], determinant = a * d - b * c;
        if (determinant > 0.2) {
            x.x += (d * miss.x - b * miss.y) / determinant;
            x.y += (a * miss.y - c * miss.x) / determinant;
        } else {
            x.x += 0.5 * miss.x;
            x.y += 0.5 * miss.y;
        }
    }
    return x;
}

}  // namespace subcrop::infer

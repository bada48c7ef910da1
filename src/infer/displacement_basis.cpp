#include "displacement_basis.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

DisplacementBasis::DisplacementBasis(const Box& box, double reach_m) : spacing_(0.75 * reach_m), width_(reach_m / std::sqrt(2.0)) {
    // Bumps of width H/sqrt(2) overlap as exp(-d^2 / 2 H^2): the product of two Gaussians integrates to one of twice the variance.
    west_ = box.min_x - reach_m;
    south_ = box.min_y - reach_m;
    columns_ = 1 + static_cast<std::int64_t>(std::ceil((box.width() + 2 * reach_m) / spacing_));
    rows_ = 1 + static_cast<std::int64_t>(std::ceil((box.height() + 2 * reach_m) / spacing_));
}

void DisplacementBasis::at(Point place, std::vector<Term>& terms) const {
    terms.clear();
    const double reach = 3.5 * width_;
    auto range = [&](double offset, std::int64_t count) {
        const auto first = static_cast<std::int64_t>(std::ceil((offset - reach) / spacing_));
        const auto last = static_cast<std::int64_t>(std::floor((offset + reach) / spacing_));
        return std::pair(std::clamp<std::int64_t>(first, 0, count - 1), std::clamp<std::int64_t>(last, 0, count - 1));
    };
    const auto [first_column, last_column] = range(place.x - west_, columns_);
    const auto [first_row, last_row] = range(place.y - south_, rows_);
    double squares = 0;
    Point squares_gradient;
    for (std::int64_t row = first_row; row <= last_row; ++row) {
        for (std::int64_t column = first_column; column <= last_column; ++column) {
            const double dx = place.x - west_ - static_cast<double>(column) * spacing_;
            const double dy = place.y - south_ - static_cast<double>(row) * spacing_;
            const double value = std::exp(-(dx * dx + dy * dy) / (2 * width_ * width_));
            const Point gradient{-dx / (width_ * width_) * value, -dy / (width_ * width_) * value};
            squares += value * value;
            squares_gradient.x += 2 * value * gradient.x;
            squares_gradient.y += 2 * value * gradient.y;
            terms.push_back({static_cast<std::uint32_t>(row * columns_ + column), value, gradient});
        }
    }
    const double scale = 1 / std::sqrt(std::max(squares, 1e-300));
    for (Term& term : terms) {
        const double ratio = -0.5 * term.value / std::max(squares, 1e-300);
        term.gradient = {(term.gradient.x + ratio * squares_gradient.x) * scale,
                         (term.gradient.y + ratio * squares_gradient.y) * scale};
        term.value *= scale;
    }
}

}  // namespace subcrop::infer

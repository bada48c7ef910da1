#include "infer/answer/displacement_basis.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

// The overlap of two bumps of width H/sqrt(2) is exp(-d^2 / 2 H^2), because the product of two Gaussians integrates to
// one of twice the variance.
DisplacementBasis::Lattice::Lattice(const Box& box, double reach_m, double variance_share, std::size_t first_node)
    : share(variance_share),
      west(box.min_x - reach_m),
      south(box.min_y - reach_m),
      spacing(0.75 * reach_m),
      width(reach_m / std::sqrt(2.0)),
      columns(1 + static_cast<std::int64_t>(std::ceil((box.width() + 2 * reach_m) / spacing))),
      rows(1 + static_cast<std::int64_t>(std::ceil((box.height() + 2 * reach_m) / spacing))),
      first(first_node) {}

void DisplacementBasis::Lattice::add(Point place, std::vector<Term>& terms) const {
    const double reach = 3.5 * width;
    auto range = [&](double offset, std::int64_t count) {
        const auto from = static_cast<std::int64_t>(std::ceil((offset - reach) / spacing));
        const auto to = static_cast<std::int64_t>(std::floor((offset + reach) / spacing));
        return std::pair(std::clamp<std::int64_t>(from, 0, count - 1), std::clamp<std::int64_t>(to, 0, count - 1));
    };
    const auto [first_column, last_column] = range(place.x - west, columns);
    const auto [first_row, last_row] = range(place.y - south, rows);
    const std::size_t begin = terms.size();
    double squares = 0;
    Point squares_gradient;
    for (std::int64_t row = first_row; row <= last_row; ++row) {
        for (std::int64_t column = first_column; column <= last_column; ++column) {
            const double dx = place.x - west - static_cast<double>(column) * spacing;
            const double dy = place.y - south - static_cast<double>(row) * spacing;
            const double value = std::exp(-(dx * dx + dy * dy) / (2 * width * width));
            const Point gradient{-dx / (width * width) * value, -dy / (width * width) * value};
            squares += value * value;
            squares_gradient.x += 2 * value * gradient.x;
            squares_gradient.y += 2 * value * gradient.y;
            terms.push_back({static_cast<std::uint32_t>(first) + static_cast<std::uint32_t>(row * columns + column),
                             value, gradient});
        }
    }
    squares = std::max(squares, 1e-300);
    const double scale = std::sqrt(share / squares);
    for (std::size_t i = begin; i < terms.size(); ++i) {
        Term& term = terms[i];
        const double ratio = -0.5 * term.value / squares;
        term.gradient = {(term.gradient.x + ratio * squares_gradient.x) * scale,
                         (term.gradient.y + ratio * squares_gradient.y) * scale};
        term.value *= scale;
    }
}

DisplacementBasis::DisplacementBasis(const Box& box, double reach_m, double longer_share) {
    lattices_.emplace_back(box, reach_m, 1 - longer_share, 0);
    if (longer_share > 0) lattices_.emplace_back(box, 2 * reach_m, longer_share, size());
}

void DisplacementBasis::at(Point place, std::vector<Term>& terms) const {
    terms.clear();
    for (const Lattice& lattice : lattices_) lattice.add(place, terms);
}

}  // namespace subcrop::infer

#include "infer/planning/expected_fall.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

constexpr double max_cells = 60000;
/// Below that a cell counts as known: the answer never is surer than the share of single wrong places.
constexpr float uncertain_from = 0.08F;
/// Cells where these two units make up less than half are uncertain for another reason.
constexpr double same_pair_from = 0.5;
constexpr std::uint32_t none = std::numeric_limits<std::uint32_t>::max();

}  // namespace

ExpectedFall::ExpectedFall(const geo::UnitMap& map, const Ask& ask, const Discernments& told, double cell_m,
                           double length_m, unsigned threads)
    : told_(told), cell_m_(cell_m), length_m_(length_m) {
    const Box box = map.extent();
    if (box.empty() || cell_m <= 0) return;
    cell_m_ = std::max(cell_m, std::sqrt(box.width() * box.height() / max_cells));
    columns_ = static_cast<std::size_t>(box.width() / cell_m_) + 1;
    rows_ = static_cast<std::size_t>(box.height() / cell_m_) + 1;
    std::vector<Cell> all(columns_ * rows_);
    parallel_blocks(rows_, 4, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<float> p(map.unit_count());
        for (std::size_t row = begin; row < end; ++row) {
            for (std::size_t column = 0; column < columns_; ++column) {
                const Point place{box.min_x + (static_cast<double>(column) + 0.5) * cell_m_,
                                  box.min_y + (static_cast<double>(row) + 0.5) * cell_m_};
                if (map.unit_at(place) == model::no_unit) continue;
                ask(place, p);
                Cell cell{.place = place,
                          .column = static_cast<std::uint32_t>(column),
                          .row = static_cast<std::uint32_t>(row)};
                for (std::size_t u = 0; u < p.size(); ++u) {
                    if (p[u] > cell.p_unit) {
                        cell.other = cell.unit;
                        cell.p_other = cell.p_unit;
                        cell.unit = static_cast<model::UnitIndex>(u);
                        cell.p_unit = p[u];
                    } else if (p[u] > cell.p_other) {
                        cell.other = static_cast<model::UnitIndex>(u);
                        cell.p_other = p[u];
                    }
                }
                if (cell.other != model::no_unit && cell.p_unit <= 1 - uncertain_from)
                    all[row * columns_ + column] = cell;
            }
        }
    });
    at_.assign(all.size(), none);
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (all[i].unit == model::no_unit) continue;
        at_[i] = static_cast<std::uint32_t>(cells_.size());
        cells_.push_back(all[i]);
    }
}

/// Calls `visit(index, fall in square metres, what is uncertain there in square metres)`, both before `left`.
template <class Visit>
void ExpectedFall::each_affected(std::size_t cell, const Visit& visit) const {
    const Cell& here = cells_[cell];
    const model::UnitIndex b = std::max(here.unit, here.other), a = std::min(here.unit, here.other);
    const double pair = static_cast<double>(here.p_unit) + static_cast<double>(here.p_other);
    const auto of_b = [&](const Cell& there, double& both) {
        // Of a cell that has the two in its first places; both: their sum.
        double p_a = 0, p_b = 0;
        for (const auto& [unit, p] : {std::pair(there.unit, there.p_unit), std::pair(there.other, there.p_other)}) {
            if (unit == a) p_a = static_cast<double>(p);
            if (unit == b) p_b = static_cast<double>(p);
        }
        both = p_a + p_b;
        return both > 0 ? p_b / both : 0;
    };
    double both = 0;
    const double q_here = of_b(here, both), right = told_.between(a, b).right_share();
    if (q_here <= 0 || q_here >= 1) return;
    const double says_b = right * q_here + (1 - right) * (1 - q_here), says_a = 1 - says_b;
    const double b_if_b = right * q_here / says_b, b_if_a = (1 - right) * q_here / says_a;  // b lies below, by its word
    const auto steps = static_cast<std::ptrdiff_t>(reach_m() / cell_m_);
    const double area = cell_m_ * cell_m_;
    for (std::ptrdiff_t dy = -steps; dy <= steps; ++dy) {
        const auto row = static_cast<std::ptrdiff_t>(here.row) + dy;
        if (row < 0 || row >= static_cast<std::ptrdiff_t>(rows_)) continue;
        for (std::ptrdiff_t dx = -steps; dx <= steps; ++dx) {
            const auto column = static_cast<std::ptrdiff_t>(here.column) + dx;
            if (column < 0 || column >= static_cast<std::ptrdiff_t>(columns_)) continue;
            const std::uint32_t index =
                at_[static_cast<std::size_t>(row) * columns_ + static_cast<std::size_t>(column)];
            if (index == none) continue;
            const Cell& there = cells_[index];
            const double q = of_b(there, both);
            if (both < same_pair_from) continue;
            const double squared = static_cast<double>(dx * dx + dy * dy) * area;
            const double rho = std::exp(-squared / (2 * length_m_ * length_m_));
            const double q_b = (1 - rho) * q + rho * std::min(1.0, q / q_here);
            const double q_a = (1 - rho) * q + rho * std::max(0.0, (q - q_here) / (1 - q_here));
            const double after_b = b_if_b * q_b + (1 - b_if_b) * q_a, after_a = b_if_a * q_b + (1 - b_if_a) * q_a;
            const double before = std::min(q, 1 - q);
            const double after = says_b * std::min(after_b, 1 - after_b) + says_a * std::min(after_a, 1 - after_a);
            // Something else than the two may lie below the visit, which then says nothing of them.
            visit(index, pair * both * area * std::max(0.0, before - after), both * area * before);
        }
    }
}

double ExpectedFall::fall_m2(std::size_t cell) const {
    double sum = 0;
    each_affected(
        cell, [&](std::size_t index, double fall, double) { sum += fall * static_cast<double>(cells_[index].left); });
    return sum;
}

void ExpectedFall::plan(std::size_t cell) {
    std::vector<std::pair<std::size_t, float>> less;
    each_affected(cell, [&](std::size_t index, double fall, double uncertain) {
        if (fall > 0) less.emplace_back(index, static_cast<float>(1 - fall / uncertain));
    });
    for (const auto& [index, share] : less) cells_[index].left *= share;
}

}  // namespace subcrop::infer

// The ground as the shift field moves it: where a drafted place lies and how well that is known, from a lattice, so
// that millions of vertices cost little.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {

class MovedDraft {
public:
    /// `contact_sd_m`: standard error stated for drafted contacts; `stops`: the box of the stops; `map`: that of the
    /// draft.
    MovedDraft(const ShiftField& field, double contact_sd_m, double stated_sd_m, const Box& stops, const Box& map, unsigned threads);

    /// Where the drafted place lies.
    Point place(Point drafted) const;
    /// Covariance of that place, xx, xy, yy, square metres; what remains once shifted included. The field is adopted
    /// with the smallest amplitude that held-out ground asks for, which says little of errors where no stop speaks:
    /// what stops taught is therefore joined to the stated error, and where they taught nothing the stated error
    /// stands.
    std::array<double, 3> covariance(Point drafted) const;
    /// An edge longer than this bends when moved.
    double step_m() const { return step_m_; }
    /// Middles of the grounds in which the field would have folded the map and was damped.
    const std::vector<Point>& damped() const { return damped_; }

private:
    struct Node {
        Point shift;
        std::array<double, 3> covariance{};
    };
    struct Seat {
        std::size_t corner;
        double right, up;
    };
    Seat seat(Point drafted) const;

    Box box_, map_;
    double spacing_ = 1, step_m_ = 1;
    std::size_t columns_ = 0, rows_ = 0;
    std::vector<Node> nodes_;
    std::vector<Point> damped_;
};

}  // namespace subcrop::infer

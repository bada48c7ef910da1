// The draft moved by the shift field: where a drafted place really lies, and how well that is known. It is read from a
// lattice, so that millions of vertices cost little.
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
    /// `contact_sd_m`: standard error of contacts left as drawn, `stated_sd_m`: the stated one. `stops`: box of the
    /// stops. `map`: box of the draft.
    MovedDraft(const ShiftField& field, double contact_sd_m, double stated_sd_m, const Box& stops, const Box& map,
               unsigned threads);

    /// Where the drafted place really lies.
    Point place(Point drafted) const;
    /// Covariance of that place: xx, xy, yy, square metres. It includes the error that remains after moving.
    /// Cross-validation keeps the field's amplitude small, so it says little about errors far from stops. Therefore the
    /// field's covariance is combined with the stated error. Where stops taught nothing, the stated error remains.
    std::array<double, 3> covariance(Point drafted) const;
    /// Edges longer than this must be cut before they are moved, so that they can bend.
    double step_m() const { return step_m_; }
    /// Middles of the areas where the field was damped because it would have folded the map.
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

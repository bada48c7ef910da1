// The draft map blurred by the errors of its contacts, on grids that can be sampled at millions of places.
//
//     BlurredDraft draft(map, units, 8, 400, threads);
//     const BlurredDraft::Layer& layer = draft.layer(30);      // contacts uncertain by 30 m (standard error)
//     layer.sample(place, shares);                             // probability of each unit there
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <span>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::infer {

class BlurredDraft {
public:
    /// Shares of the units on a grid, with quadratic B-splines between cell centres. Value and slope are continuous, as
    /// the search for a displacement needs. The shares sum to one, and to zero off the map.
    class Layer {
    public:
        std::size_t units() const { return units_; }
        double cell_m() const { return cell_m_; }
        /// One share a unit.
        void sample(Point place, std::span<float> shares) const;
        /// Sum over units of share times `value`, and its gradient per metre.
        double dot(Point place, const float* value, Point& slope) const;

    private:
        friend class BlurredDraft;
        struct Window {
            const float* first;  ///< shares in the south-western of 3 x 3 cells
            std::array<float, 3> across, up, across_slope, up_slope;
        };
        Window window(Point place) const;
        double west_ = 0, south_ = 0, cell_m_ = 1;  ///< centre of the south-western cell
        std::int64_t columns_ = 1, rows_ = 1;
        std::size_t units_ = 0;
        std::vector<float> shares_;  ///< cells x units
    };

    /// `units`: one plane for each. `cell_m` is made coarser if the planes would take over 200 MB.
    BlurredDraft(const geo::UnitMap& map, std::span<const model::UnitIndex> units, double cell_m, double margin_m,
                 unsigned threads);
    BlurredDraft(BlurredDraft&&) noexcept = default;

    /// The draft blurred by a Gaussian of that standard deviation; computed once and kept. A wide blur has coarser
    /// cells.
    const Layer& layer(double sd_m);
    std::size_t units() const { return units_; }

private:
    Layer make_layer(double sd_m) const;
    double west_ = 0, south_ = 0, cell_m_ = 1;  ///< centre of the south-western cell
    std::int64_t columns_ = 1, rows_ = 1;
    std::size_t units_ = 0;
    unsigned threads_ = 0;
    std::vector<std::int16_t> raster_;                       ///< number of the unit among `units`; -1: off the map
    std::map<std::int64_t, std::unique_ptr<Layer>> layers_;  ///< by blur in decimetres
};

}  // namespace subcrop::infer

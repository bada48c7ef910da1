// The polygons that lie over a place: one on a clean map, none off it, several where polygons overlap.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <vector>

#include "geo/edge_table.hpp"

namespace subcrop::geo {

/// A small set of polygons kept without allocating while it holds at most eight.
class CoverSet {
public:
    /// Crossing an edge of a polygon leaves it or enters it. `none` is ignored.
    void toggle(PolygonIndex polygon) {
        if (polygon == none) return;
        for (std::size_t i = 0; i < size_; ++i) {
            if (at(i) != polygon) continue;
            at(i) = at(size_ - 1);
            --size_;
            if (size_ >= near_.size()) far_.pop_back();
            return;
        }
        if (size_ < near_.size()) {
            near_[size_] = polygon;
        } else {
            far_.push_back(polygon);
        }
        ++size_;
    }
    void cross(const Edge& edge) {
        toggle(edge.left);
        toggle(edge.right);
    }
    void clear() {
        size_ = 0;
        far_.clear();
    }
    std::size_t size() const { return size_; }
    /// The first in map order, or none.
    PolygonIndex first() const {
        PolygonIndex lowest = none;
        for (std::size_t i = 0; i < size_; ++i) lowest = std::min(lowest, at(i));
        return lowest;
    }
    std::vector<PolygonIndex> sorted() const {
        std::vector<PolygonIndex> all;
        for (std::size_t i = 0; i < size_; ++i) all.push_back(at(i));
        std::sort(all.begin(), all.end());
        return all;
    }

private:
    PolygonIndex& at(std::size_t i) { return i < near_.size() ? near_[i] : far_[i - near_.size()]; }
    PolygonIndex at(std::size_t i) const { return i < near_.size() ? near_[i] : far_[i - near_.size()]; }

    std::array<PolygonIndex, 8> near_;
    std::size_t size_ = 0;
    std::vector<PolygonIndex> far_;
};

}  // namespace subcrop::geo

// GEOS as the judge of what the edge grid answers.
#pragma once

#include <geos_c.h>

#include <cstdint>
#include <string>
#include <vector>

#include "geo/geos_handle.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::geo {

/// Slow answers from GEOS about each polygon by itself.
class GeosOracle {
public:
    explicit GeosOracle(const std::vector<model::MapPolygon>& map) {
        for (const model::MapPolygon& polygon : map) {
            std::vector<GEOSGeometry*> holes;
            for (const Ring& hole : polygon.polygon.holes) holes.push_back(ring(hole));
            polygons_.push_back(
                owned(context_, GEOSGeom_createPolygon_r(context_.get(), ring(polygon.polygon.shell), holes.data(),
                                                         static_cast<unsigned>(holes.size()))));
            boundaries_.push_back(owned(context_, GEOSBoundary_r(context_.get(), polygons_.back().get())));
        }
    }
    bool all_valid() const {
        for (const GeosGeometry& polygon : polygons_) {
            if (GEOSisValid_r(context_.get(), polygon.get()) != 1) return false;
        }
        return true;
    }
    struct Answer {
        std::vector<std::uint32_t> inside;    ///< polygons whose interior holds the place
        std::vector<std::uint32_t> touching;  ///< polygons whose boundary is within the tolerance
    };
    Answer ask(Point place, double tolerance) const {
        const GeosGeometry point = owned(context_, GEOSGeom_createPointFromXY_r(context_.get(), place.x, place.y));
        Answer answer;
        for (std::uint32_t i = 0; i < polygons_.size(); ++i) {
            double away = 0;
            GEOSDistance_r(context_.get(), polygons_[i].get(), point.get(), &away);
            if (away > tolerance) continue;
            if (GEOSContains_r(context_.get(), polygons_[i].get(), point.get()) == 1) answer.inside.push_back(i);
            GEOSDistance_r(context_.get(), boundaries_[i].get(), point.get(), &away);
            if (away <= tolerance) answer.touching.push_back(i);
        }
        return answer;
    }
    double overlap_area(std::size_t i, std::size_t j) const {
        const GeosGeometry common =
            owned(context_, GEOSIntersection_r(context_.get(), polygons_[i].get(), polygons_[j].get()));
        double area = 0;
        GEOSArea_r(context_.get(), common.get(), &area);
        return area;
    }

private:
    GEOSGeometry* ring(const Ring& points) const {
        GEOSCoordSequence* sequence =
            GEOSCoordSeq_copyFromBuffer_r(context_.get(), &points[0].x, static_cast<unsigned>(points.size()), 0, 0);
        return GEOSGeom_createLinearRing_r(context_.get(), sequence);
    }
    GeosContext context_;
    std::vector<GeosGeometry> polygons_, boundaries_;
};

}  // namespace subcrop::geo

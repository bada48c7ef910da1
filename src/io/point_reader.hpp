// The point of each row of a table: from two columns or from its geometry, and what is wrong where there is none.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "io/table.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/field/written_place.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {

class PointReader {
public:
    /// `noun`: what a row is, such as "stop". Throws Error where the layer has neither points nor the columns named,
    /// unless places may come from elsewhere.
    PointReader(Table& table, const SourceDescription& description, std::string noun, bool from_elsewhere = false);

    /// The system of the source. Whole degrees have three digits at most, so that a comma behind them is a decimal
    /// mark.
    void expect(const geo::Crs& crs) {
        crs_ = crs;
        degrees_ = crs.geographic();
    }

    /// Whether the row has something for a place, be it usable or not.
    bool written();
    /// A place in another system, in the source's own; nothing where that does not cover it.
    std::optional<Point> brought_over(Point place, const geo::Crs& from);

    /// In the source's own system; reports and gives nothing where there is no usable place.
    std::optional<Point> read() {
        if (zone_.present()) return from_zone();
        return !x_.present() ? from_geometry() : x_.index == y_.index ? from_one_column() : from_columns();
    }

private:
    std::optional<Point> from_columns();
    const geo::Crs& utm_zone(const field::WrittenPlace& place);
    /// East and north with the zone of UTM in a column of its own.
    std::optional<Point> from_zone();
    /// Both coordinates in one cell, as people write a place.
    std::optional<Point> from_one_column();
    std::optional<double> coordinate(const Column& column, field::Axis axis);
    /// A remark on how the place of this row was read.
    void echo(const Column& column, std::string_view written, const std::string& message) const;
    std::optional<double> sound(const Column& column, std::string_view written, double value) const;
    std::optional<Point> from_geometry();
    void report(const Column& column, std::string value, std::string message, std::string remedy = {}) const;

    std::string article() const { return noun_.starts_with('a') ? "an " : "a "; }

    Table& table_;
    std::string noun_;
    Column x_;
    Column y_;
    Column zone_;
    bool degrees_ = false;
    std::optional<geo::Crs> crs_;
    bool from_elsewhere_ = false;
    std::map<std::string, std::optional<geo::Transformation>> from_;  ///< by the name of the system; nothing: the same
    std::map<int, geo::Crs> zones_;                                   ///< by their EPSG code
};

}  // namespace subcrop::io

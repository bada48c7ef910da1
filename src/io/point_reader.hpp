// The point of each row of a table: from two columns or from its geometry, and what is wrong where there is none.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "io/table.hpp"
#include "subcrop/core/geometry.hpp"

namespace subcrop::io {

class PointReader {
public:
    /// `noun`: what a row is, such as "stop". Throws Error where the layer has
    /// neither points nor the columns named.
    PointReader(Table& table, const SourceDescription& description, std::string noun);

    /// Whole degrees have three digits at most, so that a comma behind them is a decimal mark.
    void expect_degrees(bool degrees) { degrees_ = degrees; }

    /// In the source's own system; reports and gives nothing where there is no usable place.
    std::optional<Point> read() { return x_.present() ? from_columns() : from_geometry(); }

private:
    std::optional<Point> from_columns();
    std::optional<double> coordinate(const Column& column);
    std::optional<double> sound(const Column& column, std::string_view written, double value) const;
    std::optional<Point> from_geometry();
    void report(const Column& column, std::string value, std::string message, std::string remedy = {}) const;

    std::string article() const { return noun_.starts_with('a') ? "an " : "a "; }

    Table& table_;
    std::string noun_;
    Column x_;
    Column y_;
    bool degrees_ = false;
};

}  // namespace subcrop::io

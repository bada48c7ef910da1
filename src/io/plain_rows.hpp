// Rows of a GeoPackage's table read through SQLite, without a feature made of each: reading stops takes half the time,
// and the map's polygons are copied once. Only values stored exactly as their columns are declared are taken; any other
// row is left to GDAL, which knows what to make of it.
#pragma once

#include <sqlite3.h>

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "io/gdal_support.hpp"
#include "subcrop/core/geometry.hpp"

namespace subcrop::io {

class PlainRows {
public:
    enum class Step : std::uint8_t { plain, odd, end, failed };

    /// The columns of these numbers, the feature ids and the geometries. Nothing where the layer is no plain table of a
    /// GeoPackage, or is refused for any reason.
    static std::unique_ptr<PlainRows> open(const OpenLayer& layer, const std::set<int>& columns);

    /// `odd`: only `id` may be asked of the row.
    Step next();
    std::int64_t id() const;
    bool has(int column) const;
    /// As stored; a date as its ten characters. Valid until `next`.
    std::string_view text(int column) const;
    std::int64_t integer(int column) const;
    double real(int column) const;
    /// The geometry where it is one point in x and y; else nothing.
    std::optional<Point> point() const;
    /// The geometry where it is polygons in x and y, none of them empty: each with its rings closed. Else empty.
    std::vector<Polygon> polygons() const;

private:
    PlainRows() = default;
    std::string_view geometry() const;
    /// Place of a layer's column in the row.
    int place(int column) const { return place_[static_cast<std::size_t>(column)]; }
    bool as_declared(int place) const;

    struct Close {
        void operator()(sqlite3* database) const { sqlite3_close_v2(database); }
    };
    struct Finalize {
        void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
    };
    std::unique_ptr<sqlite3, Close> database_;
    std::unique_ptr<sqlite3_stmt, Finalize> rows_;
    std::vector<int> place_;           ///< of each of the layer's columns; 0: not asked for
    std::vector<OGRFieldType> types_;  ///< of the columns asked for, from place 2 on
    bool located_ = false;
};

}  // namespace subcrop::io

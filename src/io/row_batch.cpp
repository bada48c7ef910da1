// Encoding of rows: GeoPackage binary geometry (OGC 12-128r15, clause 2.1.3) and text made valid UTF-8.
#include <bit>
#include <cassert>
#include <cmath>
#include <cstring>
#include <utility>

#include "subcrop/core/planar.hpp"
#include "subcrop/io/layer_writer.hpp"

namespace subcrop::io {

namespace {

constexpr bool little_endian = std::endian::native == std::endian::little;
// Number of the EPSG code or GeoPackage id; the writer puts it in when it inserts, for it alone knows it.
constexpr std::uint32_t unknown_srs = 0;

template <class Value>
void put(std::string& bytes, Value value) {
    char raw[sizeof value];
    std::memcpy(raw, &value, sizeof value);
    bytes.append(raw, sizeof value);
}

void put_header(std::string& bytes, const Box* envelope) {
    bytes += "GP";
    bytes += '\0';  // version 1
    const unsigned flags = (little_endian ? 1U : 0U) | (envelope != nullptr ? 2U : 0U);
    bytes += static_cast<char>(flags);
    put(bytes, unknown_srs);
    if (envelope != nullptr) {
        for (const double side : {envelope->min_x, envelope->max_x, envelope->min_y, envelope->max_y}) put(bytes, side);
    }
}

void put_type(std::string& bytes, std::uint32_t type) {
    bytes += static_cast<char>(little_endian ? 1 : 0);
    put(bytes, type);
}

void put_points(std::string& bytes, const std::vector<Point>& points) {
    static_assert(sizeof(Point) == 2 * sizeof(double));
    put(bytes, static_cast<std::uint32_t>(points.size()));
    bytes.append(reinterpret_cast<const char*>(points.data()), points.size() * sizeof(Point));
}

// Length of the UTF-8 sequence at the front, 0 where it is not valid (Unicode 15, table 3-7).
std::size_t sequence_length(std::string_view text) {
    const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
    const auto follows = [&](std::size_t i) { return (byte(i) & 0xC0U) == 0x80U; };
    const unsigned first = byte(0);
    if (first < 0x80U) return 1;
    if (first >= 0xC2U && first <= 0xDFU) return follows(1) ? 2 : 0;
    if (first >= 0xE0U && first <= 0xEFU) {
        const bool second = follows(1) && !(first == 0xE0U && byte(1) < 0xA0U) && !(first == 0xEDU && byte(1) > 0x9FU);
        return second && follows(2) ? 3 : 0;
    }
    if (first >= 0xF0U && first <= 0xF4U) {
        const bool second = follows(1) && !(first == 0xF0U && byte(1) < 0x90U) && !(first == 0xF4U && byte(1) > 0x8FU);
        return second && follows(2) && follows(3) ? 4 : 0;
    }
    return 0;
}

void append_valid(std::string& bytes, std::string_view text) {
    std::size_t plain = 0;
    while (plain < text.size() && static_cast<unsigned char>(text[plain]) < 0x80U) ++plain;
    bytes.append(text.substr(0, plain));
    for (text.remove_prefix(plain); !text.empty();) {
        const std::size_t length = sequence_length(text);
        if (length == 0) {
            bytes += "\xEF\xBF\xBD";
            text.remove_prefix(1);
        } else {
            bytes.append(text.substr(0, length));
            text.remove_prefix(length);
        }
    }
}

}  // namespace

RowBatch& RowBatch::geometry_from(std::size_t first_byte, const Box& box) {
    Cell cell;
    cell.kind = Kind::geometry;
    cell.length = static_cast<std::uint32_t>(bytes_.size() - first_byte);
    cell.offset = first_byte;
    cells_.push_back(cell);
    boxes_.push_back({rows_, box});
    return *this;
}

RowBatch& RowBatch::point(Point place) {
    if (!std::isfinite(place.x) || !std::isfinite(place.y)) return absent();
    const std::size_t first = bytes_.size();
    put_header(bytes_, nullptr);  // a point is its own envelope
    put_type(bytes_, 1);
    put(bytes_, place.x);
    put(bytes_, place.y);
    return geometry_from(first, {place.x, place.y, place.x, place.y});
}

RowBatch& RowBatch::line(const Line& points) {
    assert(points.size() >= 2);
    const Box box = box_of(points);
    const std::size_t first = bytes_.size();
    put_header(bytes_, &box);
    put_type(bytes_, 2);
    put_points(bytes_, points);
    return geometry_from(first, box);
}

RowBatch& RowBatch::multipolygon(const MultiPolygon& polygons) {
    assert(!polygons.empty());
    Box box;
    for (const Polygon& polygon : polygons) box.add(box_of(polygon.shell));
    const std::size_t first = bytes_.size();
    put_header(bytes_, &box);
    put_type(bytes_, 6);
    put(bytes_, static_cast<std::uint32_t>(polygons.size()));
    for (const Polygon& polygon : polygons) {
        put_type(bytes_, 3);
        put(bytes_, static_cast<std::uint32_t>(1 + polygon.holes.size()));
        put_points(bytes_, polygon.shell);
        for (const Ring& hole : polygon.holes) put_points(bytes_, hole);
    }
    return geometry_from(first, box);
}

RowBatch& RowBatch::text(std::string_view value) {
    const std::size_t first = bytes_.size();
    append_valid(bytes_, value);
    Cell cell;
    cell.kind = Kind::text;
    cell.length = static_cast<std::uint32_t>(bytes_.size() - first);
    cell.offset = first;
    cells_.push_back(cell);
    return *this;
}

RowBatch& RowBatch::integer(std::int64_t value) {
    Cell cell;
    cell.kind = Kind::integer;
    cell.integer = value;
    cells_.push_back(cell);
    return *this;
}

RowBatch& RowBatch::real(double value) {
    if (!std::isfinite(value)) return absent();
    Cell cell;
    cell.kind = Kind::real;
    cell.real = value;
    cells_.push_back(cell);
    return *this;
}

RowBatch& RowBatch::boolean(bool value) { return integer(value ? 1 : 0); }

RowBatch& RowBatch::absent() {
    cells_.emplace_back();
    return *this;
}

}  // namespace subcrop::io

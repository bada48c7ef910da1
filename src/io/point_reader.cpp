#include "io/point_reader.hpp"

#include <cmath>
#include <cstdlib>
#include <utility>
#include <vector>

#include "io/nearest_name.hpp"
#include "io/place_limits.hpp"

namespace subcrop::io {

namespace {


}  // namespace

PointReader::PointReader(Table& table, const SourceDescription& description, std::string noun, bool from_elsewhere)
    : table_(table), noun_(std::move(noun)), from_elsewhere_(from_elsewhere) {
    if (!description.x.empty()) {
        x_ = table.find_theirs(description.x, "x");
        y_ = table.find_theirs(description.y, "y");
        if (!description.zone.empty()) zone_ = table.find_theirs(description.zone, "zone");
        return;
    }
    const OGRwkbGeometryType type = wkbFlatten(table.layer().GetGeomType());
    if (type == wkbNone && from_elsewhere_) return;
    if (type == wkbNone) {
        throw Error(table.place(), "it has no points and no columns are named for the coordinates",
                    "Add 'x', 'y' and 'crs' to '" + table.key() + "' in the survey file, x being east or longitude. " +
                        table.columns_here());
    }
    if (type != wkbPoint && type != wkbMultiPoint && type != wkbUnknown && type != wkbGeometryCollection) {
        throw Error(table.place(), noun_ + "s are points, and each row of this layer is a " + plain_geometry_name(type),
                    "Name the layer of points, or the columns of coordinates with 'x' and 'y'.");
    }
}

std::optional<Point> PointReader::from_columns() {
    const auto x = coordinate(x_, field::Axis::longitude);
    const auto y = x ? coordinate(y_, field::Axis::latitude) : std::nullopt;
    if (!x || !y) return std::nullopt;
    return Point{*x, *y};
}

void PointReader::echo(const Column& column, std::string_view written, const std::string& message) const {
    // A doubt is told at its row.
    if (message.find(';') == std::string::npos)
        table_.remark_reading(column, std::string(written), message);
    else
        table_.report(Severity::note, column, std::string(written), message);
}

bool PointReader::written() {
    if (x_.present()) return !table_.text(x_).empty() || !table_.text(y_).empty();
    if (wkbFlatten(table_.layer().GetGeomType()) == wkbNone) return false;
    if (table_.plain_point()) return true;
    const OGRGeometry* geometry = table_.geometry();
    return geometry != nullptr && !geometry->IsEmpty();
}

const geo::Crs& PointReader::utm_zone(const field::WrittenPlace& place) {
    const int code = (place.north ? 32600 : 32700) + place.zone;
    return zones_.try_emplace(code, "EPSG:" + std::to_string(code)).first->second;
}

std::optional<Point> PointReader::brought_over(Point place, const geo::Crs& from) {
    auto known = from_.find(from.name());
    if (known == from_.end()) {
        std::optional<geo::Transformation> way;
        const std::vector<Point> sample{place};
        if (!crs_->same_as(from))
            way.emplace(from, *crs_, sample,
                        geo::TransformationOptions{.allow_ballpark = false, .source = table_.source()});
        known = from_.emplace(from.name(), std::move(way)).first;
    }
    if (!known->second) return place;
    std::vector<Point> moved{place};
    if (known->second->apply(moved).front() == 0) return std::nullopt;
    return moved.front();
}

std::optional<Point> PointReader::from_zone() {
    std::string text;
    for (const Column* column : {&zone_, &x_, &y_}) {
        const std::string_view written = table_.text(*column);
        if (written.empty()) {
            report(*column, {}, column == &zone_ ? "the zone of UTM is missing" : "the coordinate is missing");
            return std::nullopt;
        }
        text += (text.empty() ? "" : " ") + std::string(written);
    }
    const Parsed<field::WrittenPlace> read = field::read_place(text);
    if (!read || read.value->kind != field::WrittenPlace::Kind::utm) {
        report(zone_, text, "the place cannot be read: " + (read ? "it is not in a zone of UTM" : read.message),
               read.remedy);
        return std::nullopt;
    }
    const auto found = brought_over({read.value->x, read.value->y}, utm_zone(*read.value));
    if (!found || !on_earth(*found)) {
        report(zone_, text, read.message + ", which " + crs_->name() + " does not cover");
        return std::nullopt;
    }
    return found;
}

std::optional<Point> PointReader::from_one_column() {
    const std::string_view written = table_.text(x_);
    if (written.empty()) {
        report(x_, {}, "the place is missing");
        return std::nullopt;
    }
    const std::string text(written);
    const Parsed<field::WrittenPlace> read = field::read_place(text);
    if (!read) {
        report(x_, text, "the place cannot be read: " + read.message, read.remedy);
        return std::nullopt;
    }
    const Point place{read.value->x, read.value->y};
    std::optional<Point> found = place;
    std::string in;
    if (read.value->kind == field::WrittenPlace::Kind::utm) {
        found = brought_over(place, utm_zone(*read.value));
    } else if (read.value->kind == field::WrittenPlace::Kind::degrees) {
        if (!degrees_) found = brought_over(place, geo::Crs("EPSG:4326"));  // else they are those of the source
    } else if (degrees_) {
        report(x_, text, "the place is in metres, and the source in degrees",
               "Write the zone of UTM before it, such as 31V, or give the key 'crs' of '" + table_.key() + "'.");
        return std::nullopt;
    } else {
        in = " in " + crs_->name();
    }
    if (!found || !on_earth(*found)) {
        report(x_, text, read.message + ", which " + crs_->name() + " does not cover");
        return std::nullopt;
    }
    echo(x_, text, read.message + in);
    return found;
}

std::optional<double> PointReader::coordinate(const Column& column, field::Axis axis) {
    const std::string_view written = table_.text(column);
    if (written.empty()) {
        report(column, {}, "the coordinate is missing");
        return std::nullopt;
    }
    if (column.type == OFTString) {
        const std::string word = lower(written);
        if (word == "nan" || word == "inf" || word == "-inf" || word == "+inf" || word == "infinity" ||
            word == "-infinity") {
            report(column, std::string(written), "the coordinate is not a finite number");
            return std::nullopt;
        }
        Parsed<double> parsed = read_number(written, Unit::none);
        const bool comma = parsed.message.starts_with("the comma");
        const bool plain = parsed && (parsed.message.empty() || (comma && degrees_));
        if (!plain && degrees_ && written.find_first_of("0123456789") != std::string_view::npos) {
            const std::string text(written);
            const Parsed<double> angle = field::read_angle(text, axis);
            if (angle)
                echo(column, text, angle.message);
            else
                report(column, text, "the coordinate cannot be read: " + angle.message, angle.remedy);
            return angle.value;
        }
        if (!plain) {
            report(column, std::string(written),
                   comma ? "the comma in the coordinate may be a decimal mark or part the thousands"
                         : "the coordinate is not a plain number",
                   degrees_ ? "Write decimal degrees, such as 3.0125 or -3.0125."
                            : "Write the coordinate in plain digits, such as 501400.");
            return std::nullopt;
        }
        return sound(column, written, *parsed.value);
    }
    return sound(column, written, std::strtod(std::string(written).c_str(), nullptr));
}

std::optional<double> PointReader::sound(const Column& column, std::string_view written, double value) const {
    if (std::isfinite(value) && on_earth({value, 0})) return value;
    report(column, std::string(written),
           std::isfinite(value) ? "the coordinate is thousands of times too large for a place on Earth"
                                : "the coordinate is not a finite number");
    return std::nullopt;
}

std::optional<Point> PointReader::from_geometry() {
    if (const auto plain = table_.plain_point();
        plain && std::isfinite(plain->x) && std::isfinite(plain->y) && on_earth(*plain))
        return plain;
    const OGRGeometry* geometry = table_.geometry();
    if (geometry == nullptr || geometry->IsEmpty()) {
        report({}, {}, "the " + noun_ + " has no position");
        return std::nullopt;
    }
    // A collection or multipoint of one is that one.
    while (OGR_GT_IsSubClassOf(geometry->getGeometryType(), wkbGeometryCollection)) {
        const OGRGeometryCollection* collection = geometry->toGeometryCollection();
        if (collection->getNumGeometries() != 1) {
            report({}, {},
                   article() + noun_ + " is one point, and this one has " +
                       std::to_string(collection->getNumGeometries()));
            return std::nullopt;
        }
        geometry = collection->getGeometryRef(0);
    }
    if (wkbFlatten(geometry->getGeometryType()) != wkbPoint) {
        report(
            {}, {},
            article() + noun_ + " is a point, and this row is a " + plain_geometry_name(geometry->getGeometryType()));
        return std::nullopt;
    }
    const OGRPoint* point = geometry->toPoint();
    if (point->IsEmpty() || !on_earth({point->getX(), point->getY()})) {
        report({}, {}, "the position is no place on Earth (infinite, or thousands of times too far off)");
        return std::nullopt;
    }
    return Point{point->getX(), point->getY()};
}

void PointReader::report(const Column& column, std::string value, std::string message, std::string remedy) const {
    table_.report(Severity::error, column, std::move(value), std::move(message) + "; the " + noun_ + " is left out",
                  remedy.empty() ? "Give the " + noun_ + " its position." : std::move(remedy));
}

}  // namespace subcrop::io

#include "publish/field/field_files.hpp"

#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <functional>
#include <memory>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "io/gdal_support.hpp"
#include "io/sqlite_file.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;

std::unique_ptr<OGRPoint> point(Point p) { return std::make_unique<OGRPoint>(p.x, p.y); }

std::unique_ptr<OGRLineString> line_string(const Line& line) {
    auto result = std::make_unique<OGRLineString>();
    for (const Point p : line) result->addPoint(p.x, p.y);
    return result;
}

std::unique_ptr<OGRLinearRing> linear_ring(const Ring& ring) {
    auto result = std::make_unique<OGRLinearRing>();
    for (const Point p : ring) result->addPoint(p.x, p.y);
    result->closeRings();
    return result;
}

/// Nothing if no ring is left in degrees.
std::unique_ptr<OGRMultiPolygon> multi_polygon(const MultiPolygon& area, const ToDegrees& degrees) {
    auto result = std::make_unique<OGRMultiPolygon>();
    for (const Polygon& part : area) {
        const Ring shell = degrees(part.shell);
        if (shell.size() < 4) continue;
        auto polygon = std::make_unique<OGRPolygon>();
        polygon->addRingDirectly(linear_ring(shell).release());
        for (const Ring& hole : part.holes) {
            const Ring moved = degrees(hole);
            if (moved.size() >= 4) polygon->addRingDirectly(linear_ring(moved).release());
        }
        result->addGeometryDirectly(polygon.release());
    }
    return result->IsEmpty() ? nullptr : std::move(result);
}

/// The outlines of an area as the parts of one track.
std::unique_ptr<OGRMultiLineString> outlines(const MultiPolygon& area, const ToDegrees& degrees) {
    auto result = std::make_unique<OGRMultiLineString>();
    const auto add = [&](const Ring& ring) {
        const Line moved = degrees(ring);
        if (moved.size() >= 2) result->addGeometryDirectly(line_string(moved).release());
    };
    for (const Polygon& part : area) {
        add(part.shell);
        for (const Ring& hole : part.holes) add(hole);
    }
    return result->IsEmpty() ? nullptr : std::move(result);
}

std::unique_ptr<OGRMultiLineString> track(const Line& line, const ToDegrees& degrees) {
    const Line moved = degrees(line);
    if (moved.size() < 2) return nullptr;
    auto result = std::make_unique<OGRMultiLineString>();
    result->addGeometryDirectly(line_string(moved).release());
    return result;
}

/// A data set being written beside its target.
class Output {
public:
    Output(const fs::path& target, const char* driver, const std::vector<std::string>& options,
           io::PendingFiles& together)
        : pending_(std::make_unique<io::PendingFile>(target)), together_(together) {
        io::start_gdal();
        CPLStringList list;
        for (const std::string& option : options) list.AddString(option.c_str());
        GDALDriver* made_by = GetGDALDriverManager()->GetDriverByName(driver);
        if (made_by == nullptr)
            throw Error(io::file_place(target), std::string("this GDAL has no driver for ") + driver,
                        "Install GDAL with it.");
        dataset_.reset(made_by->Create(pending_->temporary().c_str(), 0, 0, 0, GDT_Unknown, list.List()));
        if (!dataset_) fail();
        reference_.importFromEPSG(4326);
        reference_.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    }

    OGRLayer& layer(const char* name, OGRwkbGeometryType type, const std::vector<std::string>& options = {}) {
        CPLStringList list;
        for (const std::string& option : options) list.AddString(option.c_str());
        OGRLayer* made = dataset_->CreateLayer(name, &reference_, type, list.List());
        if (made == nullptr) fail();
        return *made;
    }

    void add(OGRLayer& layer, std::unique_ptr<OGRGeometry> geometry, const std::function<void(OGRFeature&)>& fill) {
        if (!geometry) return;
        OGRFeatureUniquePtr feature(OGRFeature::CreateFeature(layer.GetLayerDefn()));
        geometry->assignSpatialReference(&reference_);
        feature->SetGeometryDirectly(geometry.release());
        fill(*feature);
        if (layer.CreateFeature(feature.get()) != OGRERR_NONE) fail();
    }

    void finish() {
        dataset_->FlushCache(false);
        dataset_.reset();
        pending_->lock();
        if (messages_.failures() > 0) fail();
        together_.take(std::move(pending_));
    }

private:
    [[noreturn]] void fail() {
        const std::string reason = messages_.last();
        dataset_.reset();
        const fs::path target = pending_->target();
        pending_->lock();  // the unfinished file is removed with it
        throw io::write_failure(target, reason, 0);
    }

    io::GdalMessages messages_;  // outlives the data set
    std::unique_ptr<io::PendingFile> pending_;
    io::PendingFiles& together_;
    OGRSpatialReference reference_;
    GDALDatasetUniquePtr dataset_;
};

void add_fields(OGRLayer& layer, const std::vector<std::pair<const char*, OGRFieldType>>& fields) {
    for (const auto& [name, type] : fields) {
        OGRFieldDefn field(name, type);
        layer.CreateField(&field);
    }
}

std::string stop_words(const FieldStop& stop) {
    return stop.purpose + (stop.look_for.empty() ? "" : " Look for: " + stop.look_for + '.');
}

/// Names of symbols that receivers commonly know.
constexpr const char* stop_symbol = "Flag, Blue";
constexpr const char* start_symbol = "Parking Area";
constexpr const char* mark_symbol = "Flag, Red";

double to_a_tenth(double value) { return std::round(value * 10) / 10; }

}  // namespace

void write_gpx(const fs::path& target, const FieldTrip& trip, const ToDegrees& degrees, io::PendingFiles& together) {
    const FieldSummary& s = trip.summary;
    Output out(target, "GPX", {"CREATOR=subcrop " + std::string(version())}, together);
    OGRLayer& waypoints = out.layer("waypoints", wkbPoint);
    const auto mark = [&](Point at, const std::string& name, const std::string& about, const char* symbol,
                          const char* type) {
        out.add(waypoints, point(at), [&](OGRFeature& f) {
            f.SetField("name", name.c_str());
            f.SetField("desc", about.c_str());
            f.SetField("sym", symbol);
            f.SetField("type", type);
        });
    };
    if (s.start_degrees) mark(*s.start_degrees, "Start", "The walk starts and ends here.", start_symbol, "start");
    for (const FieldStop& stop : s.stops) {
        out.add(waypoints, point(stop.degrees), [&](OGRFeature& f) {
            if (stop.height_m) f.SetField("ele", to_a_tenth(*stop.height_m));
            f.SetField("name", stop.name.c_str());
            f.SetField("cmt", stop.purpose.c_str());
            f.SetField("desc", stop_words(stop).c_str());
            f.SetField("sym", stop_symbol);
            f.SetField("type", "next stop");
        });
    }
    for (const FieldMark& m : trip.conflicts) mark(degrees(m.place), m.name, m.about, mark_symbol, "conflict");
    for (const FieldMark& m : trip.disputed) mark(degrees(m.place), m.name, m.about, mark_symbol, "disputed area");

    if (s.stops.size() > 1 || (s.start_degrees && !s.stops.empty())) {
        OGRLayer& route = out.layer("route_points", wkbPoint);
        int number = 0;
        const auto pass = [&](Point at, const std::string& name) {
            out.add(route, point(at), [&](OGRFeature& f) {
                f.SetField("route_fid", 0);
                f.SetField("route_point_id", number);
                if (number++ == 0) f.SetField("route_name", "Walk");
                f.SetField("name", name.c_str());
            });
        };
        // Corners of the way to stop 02 are 02a, 02b and so on.
        const auto bend = [&](const Line& corners, const std::string& towards) {
            for (std::size_t i = 0; i < corners.size(); ++i)
                pass(corners[i],
                     towards + (i < 26 ? std::string(1, static_cast<char>('a' + i)) : 'z' + std::to_string(i - 24)));
        };
        if (s.start_degrees) pass(*s.start_degrees, "Start");
        for (const FieldStop& stop : s.stops) {
            bend(stop.leg_corners_degrees, stop.name.substr(0, stop.name.find(' ')));
            pass(stop.degrees, stop.name);
        }
        bend(s.last_leg_corners_degrees, "Back");
        if (s.start_degrees) pass(*s.start_degrees, "Start");
    }

    OGRLayer& tracks = out.layer("tracks", wkbMultiLineString);
    const auto add_track = [&](std::unique_ptr<OGRMultiLineString> lines, const std::string& name,
                               const std::string& about, const char* type) {
        out.add(tracks, std::move(lines), [&](OGRFeature& f) {
            f.SetField("name", name.c_str());
            f.SetField("desc", about.c_str());
            f.SetField("type", type);
        });
    };
    for (const FieldContact& c : trip.contacts) {
        add_track(track(c.line, degrees), c.name, c.about, "contact");
        add_track(outlines(c.zone, degrees), c.zone_name, "Zone of " + c.name + ". " + c.about, "contact zone");
        if (s.conflicts + s.disputed > 0 && !c.drafted.empty())
            add_track(track(c.drafted, degrees), c.drafted_name, "As drawn: " + c.name + '.', "drawn contact");
    }
    for (const FieldMark& m : trip.disputed) add_track(outlines(m.area, degrees), m.name, m.about, "disputed area");
    out.finish();
}

namespace {

/// KML and GeoJSON hold the same rows; one in layers of its own, the other in a single one.
struct Rows {
    std::function<void(const char* kind, std::unique_ptr<OGRGeometry>, const std::string& name,
                       const std::string& about)>
        plain;
    std::function<void(std::size_t number, const FieldStop&)> stop;
};

void each_row(const FieldTrip& trip, const ToDegrees& degrees, const Rows& rows) {
    const FieldSummary& s = trip.summary;
    if (s.start_degrees) rows.plain("start", point(*s.start_degrees), "Start", "The walk starts and ends here.");
    for (std::size_t i = 0; i < s.stops.size(); ++i) rows.stop(i + 1, s.stops[i]);
    Line walk;
    if (s.start_degrees) walk.push_back(*s.start_degrees);
    const auto add = [&](const Line& places) { walk.insert(walk.end(), places.begin(), places.end()); };
    bool bends = !s.last_leg_corners.empty();
    for (const FieldStop& stop : s.stops) {
        add(stop.leg_corners_degrees);
        walk.push_back(stop.degrees);
        bends = bends || !stop.leg_corners.empty();
    }
    add(s.last_leg_corners_degrees);
    if (s.start_degrees && walk.size() > 1) walk.push_back(*s.start_degrees);
    if (walk.size() > 1)
        rows.plain("walk", line_string(walk), "Walk",
                   bends ? "From stop to stop in walking order: straight, and round no-go areas."
                         : "Straight from stop to stop, in walking order.");
    for (const FieldContact& c : trip.contacts) rows.plain("contact", track(c.line, degrees), c.name, c.about);
    for (const FieldContact& c : trip.contacts)
        rows.plain("contact zone", multi_polygon(c.zone, degrees), c.zone_name, "Zone of " + c.name + ". " + c.about);
    if (s.conflicts + s.disputed > 0) {
        for (const FieldContact& c : trip.contacts)
            if (!c.drafted.empty())
                rows.plain("drawn contact", track(c.drafted, degrees), c.drafted_name, "As drawn: " + c.name + '.');
    }
    for (const FieldMark& m : trip.conflicts) rows.plain("conflict", point(degrees(m.place)), m.name, m.about);
    for (const FieldMark& m : trip.disputed) {
        if (std::unique_ptr<OGRGeometry> area = multi_polygon(m.area, degrees))
            rows.plain("disputed area", std::move(area), m.name, m.about);
        else
            rows.plain("disputed area", point(degrees(m.place)), m.name, m.about);
    }
}

void fill_stop(OGRFeature& f, std::size_t number, const FieldStop& stop) {
    f.SetField("number", static_cast<int>(number));
    f.SetField("rank", static_cast<int>(stop.rank));
    f.SetField("gain_ha", std::round(stop.gain_ha * 1000) / 1000);
    f.SetField("east", to_a_tenth(stop.place.x));
    f.SetField("north", to_a_tenth(stop.place.y));
    f.SetField("look_for", stop.look_for.c_str());
}

const std::vector<std::pair<const char*, OGRFieldType>> stop_fields = {{"number", OFTInteger}, {"rank", OFTInteger},
                                                                       {"gain_ha", OFTReal},   {"east", OFTReal},
                                                                       {"north", OFTReal},     {"look_for", OFTString}};

}  // namespace

void write_kml(const fs::path& target, const FieldTrip& trip, const ToDegrees& degrees, io::PendingFiles& together) {
    // GDAL's older KML driver writes schemas after the folders, if there are several. KML 2.2 does not allow that.
    Output out(target, "LIBKML", {"DOCUMENT_ID=walk", "NAME=Walk"}, together);
    struct Folder {
        const char *kind, *title;
        OGRwkbGeometryType type;
        const char* style;
        OGRLayer* layer = nullptr;
    };
    std::vector<Folder> folders = {
        {"start", "Start", wkbPoint, "PEN(c:#ffffff)"},
        {"walk", "Walk", wkbLineString, "PEN(c:#1f6fd6,w:3px)"},
        {"contact", "Contacts to check", wkbMultiLineString, "PEN(c:#c02020,w:3px)"},
        {"contact zone", "Zones of contacts", wkbMultiPolygon, "BRUSH(fc:#c0202030);PEN(c:#c02020,w:1px)"},
        {"drawn contact", "Contacts as drawn", wkbMultiLineString, "PEN(c:#404040,w:2px)"},
        {"conflict", "Conflicts", wkbPoint, "PEN(c:#c02020)"},
        {"disputed area", "Disputed areas", wkbUnknown, "BRUSH(fc:#d0800030);PEN(c:#d08000,w:2px)"}};
    // The driver writes a folder at a time: rows of one kind follow one another.
    OGRLayer* stops = nullptr;
    const auto folder_of = [&](const std::string& kind) -> Folder& {
        for (Folder& folder : folders) {
            if (kind != folder.kind) continue;
            if (folder.layer == nullptr) {
                folder.layer = &out.layer(folder.title, folder.type);
                add_fields(*folder.layer, {{"Name", OFTString}, {"Description", OFTString}});
            }
            return folder;
        }
        throw std::logic_error("no folder for " + kind);
    };
    each_row(trip, degrees,
             {.plain =
                  [&](const char* kind, std::unique_ptr<OGRGeometry> geometry, const std::string& name,
                      const std::string& about) {
                      if (!geometry) return;
                      Folder& folder = folder_of(kind);
                      out.add(*folder.layer, std::move(geometry), [&](OGRFeature& f) {
                          f.SetField("Name", name.c_str());
                          f.SetField("Description", about.c_str());
                          f.SetStyleString(folder.style);
                      });
                  },
              .stop =
                  [&](std::size_t number, const FieldStop& stop) {
                      if (stops == nullptr) {
                          stops = &out.layer("Next stops", wkbPoint);
                          add_fields(*stops, {{"Name", OFTString}, {"Description", OFTString}});
                          add_fields(*stops, stop_fields);
                      }
                      out.add(*stops, point(stop.degrees), [&](OGRFeature& f) {
                          f.SetField("Name", stop.name.c_str());
                          f.SetField("Description", stop_words(stop).c_str());
                          fill_stop(f, number, stop);
                      });
                  }});
    out.finish();
}

void write_geojson(const fs::path& target, const FieldTrip& trip, const ToDegrees& degrees,
                   io::PendingFiles& together) {
    Output out(target, "GeoJSON", {}, together);
    OGRLayer& layer = out.layer("walk", wkbUnknown, {"RFC7946=YES"});
    add_fields(layer, {{"kind", OFTString}, {"name", OFTString}, {"about", OFTString}});
    add_fields(layer, stop_fields);
    const auto fill = [](OGRFeature& f, const char* kind, const std::string& name, const std::string& about) {
        f.SetField("kind", kind);
        f.SetField("name", name.c_str());
        f.SetField("about", about.c_str());
    };
    each_row(trip, degrees,
             {.plain =
                  [&](const char* kind, std::unique_ptr<OGRGeometry> geometry, const std::string& name,
                      const std::string& about) {
                      out.add(layer, std::move(geometry), [&](OGRFeature& f) { fill(f, kind, name, about); });
                  },
              .stop =
                  [&](std::size_t number, const FieldStop& stop) {
                      out.add(layer, point(stop.degrees), [&](OGRFeature& f) {
                          fill(f, "next stop", stop.name, stop.purpose);
                          fill_stop(f, number, stop);
                      });
                  }});
    out.finish();
}

}  // namespace subcrop::publish

#include "subcrop/geo/crs.hpp"

#include <cmath>
#include <cstdlib>
#include <cstring>
#include <regex>
#include <string_view>

#include "geo/crs_definition.hpp"
#include "geo/proj_handle.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::geo {

ProjContext new_context() {
    ProjContext context(proj_context_create());
    proj_log_level(context.get(), PJ_LOG_NONE);
    proj_log_func(context.get(), nullptr, [](void*, int, const char*) {});  // some errors heed no level
    proj_context_set_enable_network(context.get(), 0);
    return context;
}

std::string text_or_empty(const char* text) { return text ? text : ""; }

namespace {

bool has_parameters(const std::string& text) {
    return text.find("+proj=") != std::string::npos || text.find("+init=") != std::string::npos;
}

/// Lower case, without spaces: 'wgs84' is how many write 'WGS 84'.
std::string name_to_compare(std::string_view name) {
    std::string result;
    for (const char c : name) {
        if (c != ' ') result += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    }
    return result;
}

/// A text that can only be a name: no code, no WKT, no PROJJSON, no PROJ string.
bool is_name(const std::string& text) {
    static const std::regex code(R"(\s*[A-Za-z][A-Za-z0-9_]*\s*:.*)");
    return text.find_first_of("[{\n") == std::string::npos && !has_parameters(text) && !std::regex_match(text, code);
}

}  // namespace

ProjObject horizontal_crs(PJ_CONTEXT* context, const std::string& definition) {
    std::string text = definition;
    // PROJ reads a bare "+proj=" text as an operation unless told that it is a system.
    const bool parameters = has_parameters(text);
    if (parameters && text.find("+type=crs") == std::string::npos) text += " +type=crs";
    ProjObject crs(proj_create(context, text.c_str()));
    // PROJ takes any part of a name for the name: 'nope' for 'GCS_Sinope_2000'.
    if (crs && is_name(text) && name_to_compare(text) != name_to_compare(text_or_empty(proj_get_name(crs.get())))) {
        return nullptr;
    }
    if (crs && proj_get_type(crs.get()) == PJ_TYPE_COMPOUND_CRS) crs.reset(proj_crs_get_sub_crs(context, crs.get(), 0));
    return crs && proj_is_crs(crs.get()) ? std::move(crs) : nullptr;
}

bool DegreeBox::holds(double longitude, double latitude, double margin_longitude, double margin_latitude) const {
    if (!(latitude >= south - margin_latitude && latitude <= north + margin_latitude)) return false;
    const double width = west <= east ? east - west : east - west + 360;
    if (width + 2 * margin_longitude >= 360) return std::isfinite(longitude);
    const double from_west = std::fmod(longitude - (west - margin_longitude), 360.0);
    return (from_west < 0 ? from_west + 360 : from_west) <= width + 2 * margin_longitude;
}

void require_proj_data() {
    const ProjContext context = new_context();
    if (ProjObject(proj_create(context.get(), "EPSG:4326"))) return;
    std::string remedy = "Install them (Debian: the package proj-data).";
    for (const char* name : {"PROJ_DATA", "PROJ_LIB"}) {
        const char* folder = std::getenv(name);
        if (folder == nullptr || *folder == '\0') continue;
        remedy = "The environment variable " + std::string(name) + " names '" + folder +
                 "': unset it, or have it name the folder of the proj.db that belongs to this PROJ. Debian's comes "
                 "with the package proj-data.";
        break;
    }
    throw Error(
        {},
        "PROJ's own data (proj.db) are missing or of another version, so that no coordinate reference system is known",
        remedy);
}

Crs::Crs(const std::string& definition) {
    const ProjContext context = new_context();
    const ProjObject crs = horizontal_crs(context.get(), definition);
    const std::string shown = definition.size() > 80 ? definition.substr(0, 77) + "..." : definition;
    if (!crs) {
        require_proj_data();
        throw Error({}, "'" + shown + "' is not a coordinate reference system that PROJ knows",
                    "Give a code such as EPSG:32633, the full name such as 'WGS 84 / UTM zone 33N', WKT, PROJJSON or a "
                    "PROJ string.");
    }
    // A system with an attached shift to WGS 84: its base defines it.
    ProjObject base;
    const PJ* plain = crs.get();
    if (proj_get_type(plain) == PJ_TYPE_BOUND_CRS) {
        base.reset(proj_get_source_crs(context.get(), plain));
        if (base) plain = base.get();
    }
    auto held = std::make_shared<Definition>();
    held->text = definition;
    held->name = text_or_empty(proj_get_name(plain));
    const std::string authority = text_or_empty(proj_get_id_auth_name(plain, 0));
    if (!authority.empty()) held->code = authority + ":" + text_or_empty(proj_get_id_code(plain, 0));
    held->wkt = text_or_empty(proj_as_wkt(context.get(), crs.get(), PJ_WKT2_2019, nullptr));
    held->wkt1 = text_or_empty(proj_as_wkt(context.get(), crs.get(), PJ_WKT1_GDAL, nullptr));

    const PJ_TYPE type = proj_get_type(plain);
    held->geographic = type == PJ_TYPE_GEOGRAPHIC_2D_CRS || type == PJ_TYPE_GEOGRAPHIC_3D_CRS;
    const ProjObject axes(proj_crs_get_coordinate_system(context.get(), plain));
    double factor = 0;
    if (!axes ||
        !proj_cs_get_axis_info(context.get(), axes.get(), 0, nullptr, nullptr, nullptr, &factor, nullptr, nullptr,
                               nullptr) ||
        (!held->geographic && type != PJ_TYPE_PROJECTED_CRS && type != PJ_TYPE_OTHER_CRS)) {
        throw Error({}, "'" + shown + "' gives no position on the map (it is neither projected nor geographic)",
                    "Give a projected or geographic coordinate reference system, such as EPSG:32633 or EPSG:4326.");
    }
    (held->geographic ? held->radians_per_unit : held->metres_per_unit) = factor;
    DegreeBox area;
    if (proj_get_area_of_use(context.get(), plain, &area.west, &area.south, &area.east, &area.north, nullptr) &&
        area.west > -1000) {
        held->area_of_use = area;
    }
    definition_ = std::move(held);
}

std::string Crs::name() const { return definition_->name; }
std::string Crs::code() const { return definition_->code; }
std::string Crs::wkt() const { return definition_->wkt; }
std::string Crs::wkt1() const { return definition_->wkt1; }
bool Crs::geographic() const { return definition_->geographic; }
bool Crs::projected() const { return !definition_->geographic; }
double Crs::metres_per_unit() const { return definition_->metres_per_unit; }

bool Crs::same_as(const Crs& other) const {
    if (definition_ == other.definition_ || definition_->text == other.definition_->text) return true;
    const ProjContext context = new_context();
    ProjObject one = horizontal_crs(context.get(), definition_->text);
    ProjObject two = horizontal_crs(context.get(), other.definition_->text);
    if (!one || !two) return false;
    if (proj_is_equivalent_to_with_ctx(context.get(), one.get(), two.get(),
                                       PJ_COMP_EQUIVALENT_EXCEPT_AXIS_ORDER_GEOGCRS)) {
        return true;
    }
    one.reset(proj_normalize_for_visualization(context.get(), one.get()));
    two.reset(proj_normalize_for_visualization(context.get(), two.get()));
    return one && two && proj_is_equivalent_to_with_ctx(context.get(), one.get(), two.get(), PJ_COMP_EQUIVALENT) != 0;
}

Crs utm_zone_of(double longitude_deg, double latitude_deg) {
    if (!std::isfinite(longitude_deg) || !(std::abs(latitude_deg) <= 90)) {
        throw Error({}, "no UTM zone for a place that is not on the globe", "Give longitude and latitude in degrees.");
    }
    // UPS in the variants with easting first.
    if (latitude_deg >= 84) return Crs("EPSG:5041");
    if (latitude_deg < -80) return Crs("EPSG:5042");
    double longitude = std::fmod(longitude_deg + 180, 360);
    if (longitude < 0) longitude += 360;
    longitude -= 180;
    int zone = std::min(60, static_cast<int>((longitude + 180) / 6) + 1);
    // The grid's exceptions: zone 32 widened over south-western Norway, 31 to 37 without even ones over Svalbard (NGA
    // standard NGA.SIG.0012, section 7; from memory).
    if (latitude_deg >= 56 && latitude_deg < 64 && longitude >= 3 && longitude < 12) zone = 32;
    if (latitude_deg >= 72 && longitude >= 0 && longitude < 42) {
        zone = longitude < 9 ? 31 : longitude < 21 ? 33 : longitude < 33 ? 35 : 37;
    }
    return Crs("EPSG:" + std::to_string((latitude_deg >= 0 ? 32600 : 32700) + zone));
}

}  // namespace subcrop::geo

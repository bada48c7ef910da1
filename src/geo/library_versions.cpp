#include "geo/library_versions.hpp"

#include <geos_c.h>
#include <proj.h>

namespace subcrop::geo {

std::string proj_version() { return proj_info().version; }

std::string geos_version() {
    const std::string both = GEOSversion();  // "3.11.1-CAPI-1.17.1"
    return both.substr(0, both.find('-'));
}

}  // namespace subcrop::geo

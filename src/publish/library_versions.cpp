#include "subcrop/publish/library_versions.hpp"

#include <gdal.h>

#include "geo/library_versions.hpp"

namespace subcrop::publish {

std::vector<LibraryVersion> library_versions() {
    return {{"GDAL", GDALVersionInfo("RELEASE_NAME")}, {"PROJ", geo::proj_version()}, {"GEOS", geo::geos_version()}};
}

}  // namespace subcrop::publish

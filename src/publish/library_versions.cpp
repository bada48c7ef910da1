#include "subcrop/publish/library_versions.hpp"

#include <gdal.h>

#ifdef SUBCROP_WITH_QRENCODE
#include <qrencode.h>
#endif

#include "geo/library_versions.hpp"

namespace subcrop::publish {

std::vector<LibraryVersion> library_versions() {
#ifdef SUBCROP_WITH_QRENCODE
    const std::string qrencode = QRcode_APIVersionString();
#else
    const std::string qrencode = "not in this build: field sheets have no QR codes";
#endif
    return {{"GDAL", GDALVersionInfo("RELEASE_NAME")},
            {"PROJ", geo::proj_version()},
            {"GEOS", geo::geos_version()},
            {"libqrencode", qrencode}};
}

}  // namespace subcrop::publish

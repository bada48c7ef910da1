// The libraries that read files, project places and draw codes. A bug report should name them.
//
//     for (const auto& [name, version] : library_versions()) std::cout << name << ' ' << version << '\n';
#pragma once

#include <string>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

struct LibraryVersion {
    std::string name;     ///< "GDAL"
    std::string version;  ///< "3.6.2", of the library in use, not of the one it was built with
};

/// GDAL, PROJ, GEOS and libqrencode; of one that is left out of the build, what is missing without it.
std::vector<LibraryVersion> library_versions();

}  // namespace subcrop::publish
SUBCROP_EXPORT_END

#include "cli/environment.hpp"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

namespace subcrop::cli {

namespace {

constexpr std::array<std::string_view, 22> prefixes{
    "GDAL_",  "OGR_",  "CPL_",   "OSR_",         "VSI_",    "VSICURL_",   "SQLITE_", "PROJ_",
    "CSV_",   "GML_",  "GPX_",   "KML_",         "LIBKML_", "DXF_",       "DGN_",    "SHAPE_",
    "GTIFF_", "TIFF_", "MITAB_", "OPENFILEGDB_", "PG_",     "CENTER_LONG"};
/// Folders only.
constexpr std::array<std::string_view, 6> kept{"GDAL_DATA", "GDAL_DRIVER_PATH", "PROJ_DATA",
                                               "PROJ_LIB",  "CPL_TMPDIR",       "SQLITE_TMPDIR"};

}  // namespace

void settle_environment() {
    std::vector<std::string> gone;
    for (char** entry = environ; entry != nullptr && *entry != nullptr; ++entry) {
        const std::string_view name = std::string_view(*entry).substr(0, std::string_view(*entry).find('='));
        const bool option = std::any_of(prefixes.begin(), prefixes.end(),
                                        [&](std::string_view prefix) { return name.starts_with(prefix); });
        if (option && std::find(kept.begin(), kept.end(), name) == kept.end()) gone.emplace_back(name);
    }
    for (const std::string& name : gone) unsetenv(name.c_str());
    setenv("GDAL_CONFIG_FILE", "/dev/null", 1);  // options from files in the home folder or the system's
}

}  // namespace subcrop::cli

// A source is read, and nothing beyond it: no device that never ends, no other file and no address that it names.
#pragma once

#include <gdal_priv.h>

#include <filesystem>
#include <string>

namespace subcrop::io {

/// "a pipe", "a device"... of a path that is neither a file nor a folder; empty where it is one, or nothing is there.
std::string odd_kind(const std::filesystem::path& path);

/// To be called before GDAL sees the path. Throws Error where it, or a file beside it that belongs to it by its name,
/// is a device, a pipe or a socket, which may never end; or if its contents lead to other files: virtual tables, joined
/// tables.
void refuse_what_leads_elsewhere(const std::filesystem::path& path, const std::string& shown);

/// To be called once GDAL has opened a raster. Throws Error where its overviews are said to be anywhere but beside it.
void refuse_overviews_elsewhere(GDALDataset& raster, const std::string& shown);

}  // namespace subcrop::io

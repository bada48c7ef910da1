// What a survey file may name as a source, and how a message names it.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// True for a connection to a database ("PG:dbname=survey"), which is no path.
bool is_connection(const std::string& source, const std::filesystem::path& folder);

/// Why a source is not read: addresses on the network and GDAL's virtual files are refused, so that a survey file from
/// elsewhere cannot make this machine fetch things. Empty: it is fine.
std::string refusal_of_source(const std::string& source, const std::filesystem::path& folder);

/// GDAL's names of the drivers that may open a source, ended by nullptr: formats that hold their own data, and
/// databases. Left out are all that fetch from a network and those whose files name further sources, such as virtual
/// ones.
const char* const* vector_drivers();
const char* const* raster_drivers();

/// The source for messages: as written, but with any password of a connection left out.
std::string shown_source(const std::string& source);

/// A library's reason for messages: `resolved`, the path or connection it was given, becomes the source as messages
/// name it, and no password is left in it.
std::string shown_reason(const std::string& reason, const std::string& resolved, const std::string& source);

/// `text` with every `from` replaced. What was put in is not searched again, so that `to` may hold `from`.
std::string replaced(std::string text, std::string_view from, std::string_view to);

}  // namespace subcrop::io
SUBCROP_EXPORT_END

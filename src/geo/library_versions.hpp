// Versions of the libraries that only this folder knows.
#pragma once

#include <string>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

std::string proj_version();  ///< "9.1.1", of the library in use
std::string geos_version();  ///< "3.11.1"

}  // namespace subcrop::geo
SUBCROP_EXPORT_END

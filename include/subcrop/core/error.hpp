// An error that ends the run. Only the command line's main catches it. A bad record is never an Error.
#pragma once

#include <stdexcept>
#include <string>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// Where an error arose. Empty parts are left out of the message.
struct Place {
    std::string source = {};  ///< file or connection, as the survey file names it
    std::string layer = {};
    std::string feature = {};  ///< row or feature id, as the user would look it up
    std::string field = {};
};

/// A run cannot go on. `what()` reads: place: message. Remedy.
class Error : public std::runtime_error {
public:
    Error(Place place, std::string message, std::string remedy = {});

    const Place& place() const { return place_; }
    const std::string& message() const { return message_; }
    const std::string& remedy() const { return remedy_; }

private:
    Place place_;
    std::string message_;
    std::string remedy_;
};

/// "file.gpkg, layer stops, row 12, field colour_moist"; empty when nothing is known.
std::string to_string(const Place& place);

}  // namespace subcrop
SUBCROP_EXPORT_END

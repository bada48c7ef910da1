#include "subcrop/core/error.hpp"

#include <utility>

namespace subcrop {

namespace {

std::string full_message(const Place& place, const std::string& message, const std::string& remedy) {
    std::string text = to_string(place);
    if (!text.empty()) text += ": ";
    text += message;
    if (!remedy.empty()) {
        if (!text.empty() && text.back() != '.') text += '.';
        text += ' ' + remedy;
    }
    return text;
}

}  // namespace

Error::Error(Place place, std::string message, std::string remedy)
    : std::runtime_error(full_message(place, message, remedy)),
      place_(std::move(place)),
      message_(std::move(message)),
      remedy_(std::move(remedy)) {}

std::string to_string(const Place& place) {
    std::string text = place.source;
    auto append = [&text](const char* kind, const std::string& value) {
        if (value.empty()) return;
        if (!text.empty()) text += ", ";
        text += kind + value;
    };
    append("layer ", place.layer);
    append("row ", place.feature);
    append("field ", place.field);
    return text;
}

}  // namespace subcrop

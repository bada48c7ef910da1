#include "io/run_clock.hpp"

#include <charconv>
#include <cstdlib>
#include <cstring>

#include "subcrop/core/error.hpp"

namespace subcrop::io {

std::time_t run_time() {
    const char* epoch = std::getenv("SOURCE_DATE_EPOCH");
    if (epoch == nullptr || *epoch == '\0') return std::time(nullptr);
    std::time_t seconds = 0;
    const char* end = epoch + std::strlen(epoch);
    const auto [stop, error] = std::from_chars(epoch, end, seconds);
    if (error != std::errc() || stop != end) {
        throw Error({}, "the environment variable SOURCE_DATE_EPOCH is '" + std::string(epoch) + "'",
                    "Set it to whole seconds since 1970, or unset it.");
    }
    return seconds;
}

std::string utc_text(std::time_t seconds, const char* format) {
    std::tm utc{};
    gmtime_r(&seconds, &utc);
    char text[80];
    return {text, std::strftime(text, sizeof text, format, &utc)};
}

}  // namespace subcrop::io

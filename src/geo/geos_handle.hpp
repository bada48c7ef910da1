// Ownership of GEOS objects. One context a thread.
#pragma once

#include <geos_c.h>

#include <memory>
#include <string>

namespace subcrop::geo {

/// A GEOS context that keeps the last error's text.
class GeosContext {
public:
    GeosContext() : handle_(GEOS_init_r()) {
        GEOSContext_setErrorMessageHandler_r(
            handle_, [](const char* text, void* self) { static_cast<GeosContext*>(self)->error_ = text; }, this);
    }
    ~GeosContext() { GEOS_finish_r(handle_); }
    GeosContext(const GeosContext&) = delete;
    GeosContext& operator=(const GeosContext&) = delete;

    GEOSContextHandle_t get() const { return handle_; }
    const std::string& error() const { return error_; }

private:
    GEOSContextHandle_t handle_;
    std::string error_;
};

struct GeosDeleter {
    GEOSContextHandle_t context = nullptr;
    void operator()(GEOSGeometry* geometry) const { GEOSGeom_destroy_r(context, geometry); }
};
using GeosGeometry = std::unique_ptr<GEOSGeometry, GeosDeleter>;

inline GeosGeometry owned(const GeosContext& context, GEOSGeometry* geometry) {
    return GeosGeometry(geometry, GeosDeleter{context.get()});
}

}  // namespace subcrop::geo

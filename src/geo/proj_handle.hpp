// Ownership of PROJ objects. A context and everything made with it belong to one thread at a time.
#pragma once

#include <proj.h>

#include <memory>
#include <string>

namespace subcrop::geo {

struct ContextDeleter {
    void operator()(PJ_CONTEXT* context) const { proj_context_destroy(context); }
};
using ProjContext = std::unique_ptr<PJ_CONTEXT, ContextDeleter>;

struct PjDeleter {
    void operator()(PJ* object) const { proj_destroy(object); }
};
using ProjObject = std::unique_ptr<PJ, PjDeleter>;

/// A silent context that never asks the network: errors are read from the calls themselves, grids are those installed.
ProjContext new_context();

/// The horizontal system a definition describes, or null. "+proj=..." is taken as a system too.
ProjObject horizontal_crs(PJ_CONTEXT* context, const std::string& definition);

/// The text, or an empty one for a null pointer.
std::string text_or_empty(const char* text);

}  // namespace subcrop::geo

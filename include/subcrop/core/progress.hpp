// How long work reports its progress. The library calls it; the command line draws it (a bar on a terminal, nothing
// when piped).
#pragma once

#include <cstddef>
#include <string_view>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// Called from one thread at a time. The default is silence.
class Progress {
public:
    virtual ~Progress() = default;
    /// A new stage begins, such as "reading stops". `total` is in the stage's own steps, 0 when unknown.
    virtual void stage(std::string_view /*name*/, std::size_t /*total*/) {}
    /// So many steps of the stage are done.
    virtual void advance(std::size_t /*done*/) {}
};

}  // namespace subcrop
SUBCROP_EXPORT_END

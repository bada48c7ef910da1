// Work split over threads so that the answer never depends on how many there are: the split into blocks depends on the
// count alone, each block writes only its own part, and reductions add up the blocks in their order.
#pragma once

#include <cstddef>
#include <functional>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// Threads to use for a request: 0 asks for all the machine has.
unsigned thread_count(unsigned requested);

/// Calls `work(begin, end, worker)` for consecutive blocks of [0, count), each `block` long save the last; `worker` is
/// below the thread count and tells per-thread scratch space apart. The first exception thrown in a block is rethrown
/// here after the others end.
void parallel_blocks(std::size_t count, std::size_t block, unsigned threads,
                     const std::function<void(std::size_t begin, std::size_t end, unsigned worker)>& work);

}  // namespace subcrop
SUBCROP_EXPORT_END

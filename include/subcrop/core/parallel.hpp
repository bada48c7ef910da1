// Work split over threads so that the result never depends on their number. The blocks depend only on the count. Each
// block writes only its own part. Reductions sum the blocks in order.
#pragma once

#include <cstddef>
#include <functional>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// Number of threads for a request; 0 means all the machine has.
unsigned thread_count(unsigned requested);

/// Calls `work(begin, end, worker)` for consecutive blocks of [0, count), each of length `block` except the last.
/// `worker` is below the thread count and selects per-thread scratch space. The first exception of a block is rethrown
/// here after the other blocks end.
void parallel_blocks(std::size_t count, std::size_t block, unsigned threads,
                     const std::function<void(std::size_t begin, std::size_t end, unsigned worker)>& work);

}  // namespace subcrop
SUBCROP_EXPORT_END

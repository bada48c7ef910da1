// How the program takes memory from the system.
#pragma once

#include <cstddef>

namespace subcrop::cli {

/// For work that fills and frees many large arrays: freed memory is kept for the next array, in large pages, instead of
/// being returned and cleared again. `surely_needed` bytes are taken from the system at once, by a thread that does
/// nothing else. For the rest it reserves addresses only; where the system refuses, nothing changes.
void prepare_memory(std::size_t surely_needed);

}  // namespace subcrop::cli

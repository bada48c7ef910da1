// How the program takes memory from the system.
#pragma once

namespace subcrop::cli {

/// For work that fills and frees many large arrays: freed memory is kept for the next array, in large pages, instead of being
/// handed back and cleared anew. Reserves addresses only; where the system refuses, nothing changes.
void prepare_memory();

}  // namespace subcrop::cli

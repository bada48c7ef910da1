// What happens when the user or the system stops the program.
#pragma once

namespace subcrop::cli {

/// From now on Ctrl-C, a terminal that closes and a polite request to end (SIGINT, SIGHUP, SIGTERM) remove what is half
/// written, say so and end the program with 128 + the signal's number, as a shell would. A file that grows beyond what
/// is allowed here becomes an error like a full disk. To be called before any other thread is started.
void stop_cleanly();

/// Whether the program is only waiting now, so that stopping it interrupts nothing.
void nothing_is_written(bool waiting);

}  // namespace subcrop::cli

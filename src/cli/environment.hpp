// The environment that the program runs in.
#pragma once

namespace subcrop::cli {

/// Options of GDAL, PROJ and SQLite that would change what is read, computed or written are taken out of the
/// environment, so that the same survey gives the same results for everybody. Where these libraries find their data and
/// how a database is reached stays. To be called before any other thread is started and before any of them is used.
void settle_environment();

}  // namespace subcrop::cli

// What the shared libraries export: everything that a header declares between these two macros. They are built with
// -fvisibility=hidden, so the rest is hidden. A private header uses them too if another folder includes it.
#pragma once

#if defined(__GNUC__)
#define SUBCROP_EXPORT_BEGIN _Pragma("GCC visibility push(default)")
#define SUBCROP_EXPORT_END _Pragma("GCC visibility pop")
#else
#define SUBCROP_EXPORT_BEGIN
#define SUBCROP_EXPORT_END
#endif

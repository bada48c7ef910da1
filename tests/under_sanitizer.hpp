// Whether the tests run under the address or the thread sanitizer, as gcc and as Clang tell of it. Those take addresses
// by the terabyte, so that limiting them ends a program before it begins, and several times the usual time.
#pragma once

namespace subcrop::test {

#if defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define SUBCROP_UNDER_SANITIZER
#endif
#endif
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) || defined(SUBCROP_UNDER_SANITIZER)
inline constexpr bool under_sanitizer = true;
#else
inline constexpr bool under_sanitizer = false;
#endif

/// How many times longer a test may take than in an optimised build: assertions and missing inlining cost some,
/// sanitizers more.
#ifdef NDEBUG
inline constexpr unsigned patience = under_sanitizer ? 10 : 1;
#else
inline constexpr unsigned patience = under_sanitizer ? 10 : 6;
#endif

}  // namespace subcrop::test

// What a build that is instrumented (GIRDLE_SANITIZE) needs besides: the sanitizer's runtime lives
// in the sandbox as well. All of it is here and in sanitizer_options.cc; other builds have nothing
// of it.
#pragma once

#include "reader_host/filter.h"

namespace girdle::reader_host {

#if defined(GIRDLE_INSTRUMENTED)
// The runtime reserves address space by the terabyte, so that no limit can be set to it.
inline constexpr bool kInstrumented = true;
inline constexpr int kDescriptorsMore = 2;
#else
inline constexpr bool kInstrumented = false;
inline constexpr int kDescriptorsMore = 0;
#endif

// The system calls that the runtime makes while nothing is wrong.
void allow_sanitizer(Filter& filter);

}  // namespace girdle::reader_host

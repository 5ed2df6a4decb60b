// Whether every read and write is watched: a program then takes many times as long.
#pragma once

#include <cstddef>

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define LW_SANITIZED 1
#endif
#elif defined(__SANITIZE_ADDRESS__)
#define LW_SANITIZED 1
#endif

namespace lw::test {

/// Of what is tried by the thousand, one in so many is.
#ifdef LW_SANITIZED
constexpr std::size_t kOneIn = 8;
#else
constexpr std::size_t kOneIn = 1;
#endif

}  // namespace lw::test

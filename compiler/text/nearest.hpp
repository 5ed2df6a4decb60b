// Which known word a slip of the pen most likely meant.
//
// One answer or none: a list of guesses helps nobody. Tests: tests/unit/text/nearest_test.cpp.
#pragma once

#include <string_view>
#include <vector>

namespace lw {

/// The one of `known` that `word` was most likely meant to be; empty if none is near. Of two that are as near
/// it is the one that begins alike, then the earlier one. Known words are in small letters; a word of more
/// than 64 letters is near none.
std::string_view nearest(std::string_view word, const std::vector<std::string_view>& known);

}  // namespace lw

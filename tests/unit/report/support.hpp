// What the tests of report/ share: findings about a text, placed by what they underline.
#pragma once

#include <doctest/doctest.h>

#include <string>

#include "text/finding.hpp"
#include "text/source.hpp"

/// The span of `part`, which stands in the file's text, the `nth` time from 0.
inline lw::Span span_of(const lw::SourceSet& sources, lw::FileId file, std::string_view part, int nth = 0) {
  std::size_t at = sources.text(file).find(part);
  for (; nth > 0 && at != std::string_view::npos; --nth) at = sources.text(file).find(part, at + 1);
  REQUIRE_MESSAGE(at != std::string_view::npos, part);
  return {file, static_cast<std::uint32_t>(at), static_cast<std::uint32_t>(at + part.size())};
}

/// Lines that are empty, so that the text after them begins at line `line`.
inline std::string blank_up_to(int line) { return std::string(static_cast<std::size_t>(line - 1), '\n'); }

// What the reader has to say about one file: wording (wording.hpp) at a place becomes a Finding.
//
// Invariant: at most kMost findings a file; the last one says that there are more, so that a file that is no
// room at all neither floods a terminal nor memory. Tests: tests/unit/syntax/hostile_test.cpp.
#pragma once

#include <cstddef>

#include "syntax/wording.hpp"
#include "text/finding.hpp"
#include "text/nearest.hpp"

namespace lw::syntax {

class Mistakes {
 public:
  static constexpr std::size_t kMost = 1000;

  explicit Mistakes(Findings& findings) : findings_(findings) {}

  void say(Span span, Wording wording);
  std::size_t count() const { return count_; }

 private:
  Findings& findings_;
  std::size_t count_ = 0;
};

}  // namespace lw::syntax

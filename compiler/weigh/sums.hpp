// How many multisets of weights sum to at most a limit, exactly.
//
// Weights are whole picograms, and the count has no largest value. Two exact methods, neither of which
// rounds. Meeting in the middle: the sums of either half, equal ones joined, walked against each other; kinds
// for which the halves have no room stay outside, and the halves are walked once for each of their sums. And
// a walk from the heaviest kind down, where all limits between which the answer cannot change share one node,
// so that near-equal masses, powers of two and whole grams cost few nodes however many kinds there are.
// Rejected: an array over divisions, since masses need not be whole divisions. Tests:
// tests/unit/weigh/sums_test.cpp, tests/weigh_z3.py.
#pragma once

#include <boost/multiprecision/cpp_int.hpp>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

namespace lw::weigh {

using Count = boost::multiprecision::cpp_int;

/// So many alike of a weight.
struct Weight {
  std::int64_t pg = 0;     // 0 or more
  std::int64_t count = 1;  // 1 or more
};

/// What may be spent before a question is given up as not decided.
struct Effort {
  std::size_t nodes = 600'000;     // of the walk: about 100 bytes each
  std::size_t sums = 1u << 22;     // of either half: up to 64 bytes each
  std::size_t steps = 20'000'000;  // of a list, where nothing could be foreseen
  std::size_t passed = 1u << 31;   // of the halves' sums for one question, where they do not hold all kinds
};

class Sums {
 public:
  /// Questions up to `most_pg` can be asked.
  Sums(std::vector<Weight> weights, std::int64_t most_pg, Effort effort = {});
  ~Sums();
  Sums(Sums&&) noexcept;
  Sums& operator=(Sums&&) noexcept;

  /// How many multisets, the empty one included, weigh `limit_pg` or less. Nothing: the effort was not
  /// enough.
  std::optional<Count> at_most(std::int64_t limit_pg);

  /// Whether more choices of the kinds from `first` on weigh `limit_pg` or less here than weigh
  /// `other_limit_pg` or less in `other`, which has the same kinds and counts in the same order. True also
  /// where the effort is not enough.
  bool exceeds(std::size_t first, std::int64_t limit_pg, Sums& other, std::int64_t other_limit_pg);

  class Method;

 private:
  std::unique_ptr<Method> method_;
};

/// a + b, and a × n, at most the largest value; neither below 0.
std::int64_t add_up(std::int64_t a, std::int64_t b);
std::int64_t times_up(std::int64_t a, std::int64_t n);

}  // namespace lw::weigh

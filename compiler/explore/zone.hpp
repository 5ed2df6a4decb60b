// A set of clock values bounded by differences, over whole numbers.
//
// Entry (i, j) is the largest value of x(i) - x(j) in the set; x(0) is always 0. Kept closed: every bound is
// attained by a point of the set, so emptiness, inclusion and projection are read off. Time is whole scans by
// definition, so no bound is strict. Tests: tests/unit/explore/zone_test.cpp.
#pragma once

#include <cstdint>
#include <vector>

namespace lw::explore {

class Zone {
 public:
  using Bound = std::int32_t;
  /// No clocks: the one point.
  Zone() : size_(1), bounds_(1, 0) {}

  /// Clocks, not counting the zero one.
  std::size_t clocks() const { return size_ - 1; }
  Bound operator()(std::size_t i, std::size_t j) const { return bounds_[i * size_ + j]; }
  Bound least(std::size_t clock) const { return -(*this)(0, clock + 1); }
  Bound most(std::size_t clock) const { return (*this)(clock + 1, 0); }

  /// A clock more, which has this value.
  void add(Bound value);
  /// Only these clocks, in this order.
  Zone only(const std::vector<std::size_t>& kept) const;
  /// The first `moving` clocks move on by one; the rest stand still.
  void tick(std::size_t moving);
  /// The clock goes on by so much, or back, the others standing still.
  void shift(std::size_t clock, Bound by);
  /// Keeps the points at which the clock lies in low to high. False when there is none; the zone is then not
  /// to be used.
  bool within(std::size_t clock, Bound low, Bound high);
  /// Points of the set, and all that come after them while each clock is at most at its `high`.
  void elapse(const std::vector<Bound>& high);
  /// Points of the set, and all in which that clock alone is later, up to `high`.
  void let_be_later(std::size_t clock, Bound high);
  /// Entry by entry.
  const std::vector<Bound>& bounds() const { return bounds_; }
  bool operator==(const Zone& other) const { return bounds_ == other.bounds_; }

 private:
  Bound& at(std::size_t i, std::size_t j) { return bounds_[i * size_ + j]; }
  bool tighten(std::size_t i, std::size_t j, Bound bound);

  std::size_t size_;
  std::vector<Bound> bounds_;
};

}  // namespace lw::explore

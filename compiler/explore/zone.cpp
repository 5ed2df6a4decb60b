// See zone.hpp.
#include "explore/zone.hpp"

#include <algorithm>

namespace lw::explore {

void Zone::add(Bound value) {
  std::vector<Bound> next((size_ + 1) * (size_ + 1));
  for (std::size_t i = 0; i < size_; ++i)
    for (std::size_t j = 0; j < size_; ++j) next[i * (size_ + 1) + j] = bounds_[i * size_ + j];
  for (std::size_t i = 0; i < size_; ++i) {
    next[i * (size_ + 1) + size_] = (*this)(i, 0) - value;
    next[size_ * (size_ + 1) + i] = value + (*this)(0, i);
  }
  bounds_ = std::move(next);
  ++size_;
}

Zone Zone::only(const std::vector<std::size_t>& kept) const {
  Zone result;
  result.size_ = kept.size() + 1;
  result.bounds_.assign(result.size_ * result.size_, 0);
  for (std::size_t i = 0; i < result.size_; ++i)
    for (std::size_t j = 0; j < result.size_; ++j)
      result.at(i, j) = (*this)(i == 0 ? 0 : kept[i - 1] + 1, j == 0 ? 0 : kept[j - 1] + 1);
  return result;
}

void Zone::tick(std::size_t moving) {
  const auto stands = [&](std::size_t i) { return i == 0 || i > moving; };
  for (std::size_t i = 1; i <= moving; ++i)
    for (std::size_t j = 0; j < size_; ++j) {
      if (!stands(j)) continue;
      ++at(i, j);
      --at(j, i);
    }
}

void Zone::shift(std::size_t clock, Bound by) {
  for (std::size_t j = 0; j < size_; ++j) {
    if (j == clock + 1) continue;
    at(clock + 1, j) += by;
    at(j, clock + 1) -= by;
  }
}

bool Zone::tighten(std::size_t i, std::size_t j, Bound bound) {
  if (bound >= (*this)(i, j)) return true;
  if (bound + (*this)(j, i) < 0) return false;
  at(i, j) = bound;
  for (std::size_t a = 0; a < size_; ++a) {
    const Bound to = (*this)(a, i) + bound;
    for (std::size_t b = 0; b < size_; ++b) at(a, b) = std::min((*this)(a, b), to + (*this)(j, b));
  }
  return true;
}

bool Zone::within(std::size_t clock, Bound low, Bound high) {
  return tighten(clock + 1, 0, high) && tighten(0, clock + 1, -low);
}

void Zone::elapse(const std::vector<Bound>& high) {
  // A point moves on with all its differences, so only the upper ends open; the first clock to reach its end
  // holds the others back.
  for (std::size_t i = 1; i < size_; ++i) {
    Bound most = high[i - 1];
    for (std::size_t j = 1; j < size_; ++j) most = std::min(most, high[j - 1] + (*this)(i, j));
    at(i, 0) = most;
  }
}

void Zone::let_be_later(std::size_t clock, Bound high) {
  for (std::size_t j = 0; j < size_; ++j)
    if (j != clock + 1) at(clock + 1, j) = high + (*this)(0, j);
}

}  // namespace lw::explore

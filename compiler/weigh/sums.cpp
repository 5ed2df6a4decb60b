#include "weigh/sums.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <variant>

#include "weigh/counting.hpp"

namespace lw::weigh {

std::int64_t add_up(std::int64_t a, std::int64_t b) {
  std::int64_t sum = 0;
  return __builtin_add_overflow(a, b, &sum) ? std::numeric_limits<std::int64_t>::max() : sum;
}

std::int64_t times_up(std::int64_t a, std::int64_t n) {
  std::int64_t product = 0;
  return __builtin_mul_overflow(a, n, &product) ? std::numeric_limits<std::int64_t>::max() : product;
}

namespace {

constexpr std::int64_t kMost = std::numeric_limits<std::int64_t>::max();
constexpr std::int64_t kLeast = std::numeric_limits<std::int64_t>::min();

/// The walk. For the kinds from i on, `at_most` is a step function of the limit; a node is one of its steps.
template <class N>
class Walk {
 public:
  Walk(const std::vector<Weight>& weights, std::size_t most_nodes) : weights_(weights), left_(most_nodes) {
    rest_.assign(weights.size() + 1, 0);
    all_.assign(weights.size() + 1, N(1));
    for (std::size_t i = weights.size(); i-- > 0;) {
      rest_[i] = add_up(rest_[i + 1], times_up(weights[i].pg, weights[i].count));
      all_[i] = all_[i + 1] * (N(static_cast<std::uint64_t>(weights[i].count)) + 1);
    }
    nodes_.resize(weights.size());
  }

  std::optional<N> at_most(std::size_t first, std::int64_t limit) {
    const Step step = go(first, limit);
    if (given_up_) return std::nullopt;
    return step.count;
  }

 private:
  /// The count for every limit from `low` to `high`.
  struct Step {
    std::int64_t low, high;
    N count;
  };

  Step go(std::size_t i, std::int64_t limit) {
    if (limit < 0) return {kLeast, -1, N(0)};
    if (limit >= rest_[i]) return {rest_[i], kMost, all_[i]};
    std::map<std::int64_t, Step>& level = nodes_[i];  // by the high end
    const auto known = level.lower_bound(limit);
    if (known != level.end() && known->second.low <= limit) return known->second;
    if (given_up_ || left_ == 0) {
      given_up_ = true;
      return {limit, limit, N(0)};
    }
    --left_;
    Step step{0, kMost, N(0)};
    const Weight& weight = weights_[i];
    std::int64_t taken = 0;
    for (std::int64_t n = 0; n <= weight.count; ++n, taken += weight.pg) {
      const Step part = go(i + 1, limit - taken);
      if (given_up_) return part;
      if (part.low > kLeast) step.low = std::max(step.low, part.low + taken);
      if (part.high < kMost) step.high = std::min(step.high, part.high + taken);
      step.count += part.count;
      if (limit - taken < 0 || taken > kMost - weight.pg) break;  // more of it is heavier still
    }
    level.emplace(step.high, step);
    return step;
  }

  const std::vector<Weight>& weights_;
  std::size_t left_;
  bool given_up_ = false;
  std::vector<std::int64_t> rest_;  // what all kinds from i on weigh
  std::vector<N> all_;              // how many choices of them there are
  std::vector<std::map<std::int64_t, Step>> nodes_;
};

/// Meeting in the middle. The heaviest kinds stay outside where the halves would grow too large: each of
/// their sums leaves the halves a smaller limit, and the heavier it is the less of them is walked.
template <class N>
class Halves {
 public:
  struct Sum {
    std::int64_t pg;
    N ways;
  };
  using List = std::vector<Sum>;  // rising

  Halves(const std::vector<Weight>& weights, std::int64_t most_pg, Effort effort)
      : most_pg_(most_pg), most_sums_(effort.sums), most_passed_(effort.passed) {
    // Of kinds with as many choices the heaviest first, which is the fastest; where not all have room, the
    // lightest, since it is heavy ones that should stay outside.
    fill(weights, false);
    if (given_up_ && effort.passed != 0) {
      given_up_ = false;
      fill(weights, true);
    }
    for (std::size_t n = 1; n < right_.size(); ++n) right_[n].ways += right_[n - 1].ways;
  }

  std::optional<N> at_most(std::int64_t limit) const {
    if (given_up_) return std::nullopt;
    if (outside_.size() > 1) {
      std::size_t passed = 0;
      for (const Sum& sum : outside_) {
        if (sum.pg > limit) break;
        passed += up_to(left_, limit - sum.pg) + up_to(right_, limit - sum.pg);
        if (passed > most_passed_) return std::nullopt;
      }
    }
    N total(0);
    for (const Sum& sum : outside_) {
      if (sum.pg > limit) break;
      total += sum.ways * within(limit - sum.pg);
    }
    return total;
  }

 private:
  /// The kinds of most choices first, each to the half that is smaller so far.
  void fill(const std::vector<Weight>& weights, bool some_outside) {
    left_ = right_ = outside_ = {{0, N(1)}};
    std::vector<std::size_t> order(weights.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      if (weights[a].count != weights[b].count || !some_outside) return weights[a].count > weights[b].count;
      return weights[a].pg < weights[b].pg;
    });
    bool full = false;
    for (const std::size_t i : order) {
      List& half = full ? outside_ : left_.size() <= right_.size() ? left_ : right_;
      List larger = with(half, weights[i].pg, weights[i].count);
      if (given_up_ && some_outside && !full) {
        given_up_ = false;
        full = true;
        outside_ = with(outside_, weights[i].pg, weights[i].count);
      } else {
        half = std::move(larger);
      }
      if (given_up_) return;
    }
  }

  /// How many of the list are no heavier.
  static std::size_t up_to(const List& list, std::int64_t limit) {
    return static_cast<std::size_t>(std::upper_bound(list.begin(), list.end(), limit,
                                                     [](std::int64_t a, const Sum& b) { return a < b.pg; }) -
                                    list.begin());
  }

  /// Pairs of a sum of the one half and a sum of the other that are no heavier together.
  N within(std::int64_t limit) const {
    N total(0);
    std::size_t to = up_to(right_, limit);
    for (const Sum& sum : left_) {
      if (sum.pg > limit) break;
      while (to > 0 && right_[to - 1].pg > limit - sum.pg) --to;
      if (to == 0) break;
      total += sum.ways * right_[to - 1].ways;
    }
    return total;
  }

  /// `list` and, joined to it, `list` with `pg` more in every sum.
  List joined(const List& a, const List& b, std::int64_t pg) {
    List result;
    result.reserve(std::min(a.size() + b.size(), most_sums_ + 1));
    auto left = a.begin();
    auto right = b.begin();
    while (left != a.end() || right != b.end()) {
      const std::int64_t shifted = right == b.end() ? kMost : add_up(right->pg, pg);
      if (left == a.end() && shifted > most_pg_) break;
      if (result.size() > most_sums_) {
        given_up_ = true;
        break;
      }
      if (left != a.end() && (right == b.end() || left->pg < shifted)) {
        result.push_back(*left++);
      } else if (left != a.end() && left->pg == shifted) {
        result.push_back({shifted, left->ways + right->ways});
        ++left, ++right;
      } else if (shifted > most_pg_) {
        right = b.end();
      } else {
        result.push_back({shifted, right->ways});
        ++right;
      }
    }
    return result;
  }

  /// `list` with 0 to `count` more of a weight: in about log2(count) steps, each number of them once.
  List with(const List& list, std::int64_t pg, std::int64_t count) {
    if (count == 0 || given_up_) return list;
    if (count % 2 == 0) return joined(with(list, pg, count - 1), list, times_up(pg, count));
    const List half = with(list, pg, (count - 1) / 2);
    return joined(half, half, times_up(pg, (count + 1) / 2));
  }

  std::int64_t most_pg_;
  std::size_t most_sums_, most_passed_;
  bool given_up_ = false;
  List left_, right_;  // ways of the right: of its sums up to that one
  List outside_;
};

/// About how many different sums a half has: its choices, or its picograms in steps of what divides all
/// weights.
double sums_of_a_half(const std::vector<Weight>& weights, std::int64_t most_pg) {
  double choices = 0;
  std::int64_t step = 0;
  for (const Weight& weight : weights) {
    choices += choice_bits(weight.count);
    step = std::gcd(step, weight.pg);
  }
  const double by_range = static_cast<double>(most_pg) / static_cast<double>(std::max<std::int64_t>(step, 1));
  return std::min(std::pow(2.0, std::min(choices / 2, 60.0)), by_range);
}

template <class N>
class Both {
 public:
  Both(const std::vector<Weight>& weights, std::int64_t most_pg, Effort effort)
      : weights_(weights), most_pg_(most_pg), effort_(effort) {
    small_ = sums_of_a_half(weights, most_pg) <= 1 << 17;
  }

  std::optional<N> at_most(std::int64_t limit) {
    assert(limit <= most_pg_);
    if (limit < 0) return N(0);
    if (!small_ && !first_walk_failed_) {
      constexpr std::size_t kFirstNodes = 30'000;
      if (const auto count = walk(kFirstNodes).at_most(0, limit)) return count;
      first_walk_failed_ = true;
    }
    if (!halves_ || limit > halves_most_pg_) {
      // No further than is asked, and a little: heavier sums would only be carried along.
      halves_most_pg_ = std::min(most_pg_, add_up(limit, limit / 8));
      halves_ = std::make_unique<Halves<N>>(weights_, halves_most_pg_, effort_);
    }
    if (const auto count = halves_->at_most(limit)) return count;
    return walk(effort_.nodes).at_most(0, limit);
  }

  std::optional<N> from(std::size_t first, std::int64_t limit) {
    return walk(effort_.nodes).at_most(first, limit);
  }

 private:
  Walk<N>& walk(std::size_t nodes) {
    if (!walk_ || nodes > walk_nodes_) {
      walk_ = std::make_unique<Walk<N>>(weights_, nodes);
      walk_nodes_ = nodes;
    }
    return *walk_;
  }

  const std::vector<Weight>& weights_;
  std::int64_t most_pg_;
  Effort effort_;
  bool small_ = false, first_walk_failed_ = false;
  std::size_t walk_nodes_ = 0;
  std::int64_t halves_most_pg_ = 0;
  std::unique_ptr<Walk<N>> walk_;
  std::unique_ptr<Halves<N>> halves_;
};

}  // namespace

/// The same for each width of count: as narrow as all choices together allow.
class Sums::Method {
 public:
  Method(std::vector<Weight> weights, std::int64_t most_pg, Effort effort) : weights(std::move(weights)) {
    double bits = 0;
    for (const Weight& weight : this->weights) bits += choice_bits(weight.count);
    counting(bits, [&](auto zero) {
      both = std::make_unique<Both<decltype(zero)>>(this->weights, most_pg, effort);
    });
  }

  template <class N>
  using Owned = std::unique_ptr<Both<N>>;
  std::vector<Weight> weights;
  std::variant<Owned<std::uint64_t>, Owned<unsigned __int128>, Owned<Count>> both;
};

Sums::Sums(std::vector<Weight> weights, std::int64_t most_pg, Effort effort)
    : method_(std::make_unique<Method>(std::move(weights), most_pg, effort)) {}
Sums::~Sums() = default;
Sums::Sums(Sums&&) noexcept = default;
Sums& Sums::operator=(Sums&&) noexcept = default;

std::optional<Count> Sums::at_most(std::int64_t limit_pg) {
  const auto ask = [&](auto& both) -> std::optional<Count> {
    if (const auto count = both->at_most(limit_pg)) return wide(*count);
    return std::nullopt;
  };
  return std::visit(ask, method_->both);
}

bool Sums::exceeds(std::size_t first, std::int64_t limit_pg, Sums& other, std::int64_t other_limit_pg) {
  assert(method_->weights.size() == other.method_->weights.size());
  const auto compare = [&](auto& mine) {
    auto& theirs = std::get<std::decay_t<decltype(mine)>>(other.method_->both);  // of as many choices
    const auto more = mine->from(first, limit_pg);
    const auto less = theirs->from(first, other_limit_pg);
    return !more || !less || *more > *less;
  };
  return std::visit(compare, method_->both);
}

}  // namespace lw::weigh

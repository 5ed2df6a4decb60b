#include "weigh/both_ends.hpp"

#include <algorithm>
#include <cstdint>
#include <map>
#include <numeric>

#include "weigh/counting.hpp"

namespace lw::weigh {
namespace {

template <class N>
class BothEnds {
 public:
  BothEnds(Band band, std::size_t most_sums) : band_(band), most_sums_(most_sums) {}

  std::optional<N> count(const std::vector<Kind>& kinds) {
    Half halves[2];
    for (Half& half : halves) half.by_width[0] = {{0, N(1)}};
    std::vector<std::size_t> order(kinds.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return kinds[a].count > kinds[b].count; });
    for (const std::size_t i : order) {
      Half& half = halves[0].size <= halves[1].size ? halves[0] : halves[1];
      half = with(half, kinds[i], kinds[i].count);
      if (half.size > most_sums_) return std::nullopt;
    }
    const std::size_t by_widths =
        halves[0].by_width.size() * halves[1].size + halves[1].by_width.size() * halves[0].size;
    constexpr std::size_t kTreeSteps = 60;  // of a sum in the tree, in steps along a list
    return by_widths <= kTreeSteps * (halves[0].size + halves[1].size) ? met(halves[0], halves[1])
                                                                       : met_in_tree(halves[0], halves[1]);
  }

 private:
  struct Sum {
    std::int64_t low;
    N ways;
  };
  using List = std::vector<Sum>;  // rising
  struct Half {
    std::map<std::int64_t, List> by_width;
    std::size_t size = 1;
  };

  /// `half` with 0 to `count` more of a kind, each number of them once.
  Half with(const Half& half, const Kind& kind, std::int64_t count) const {
    if (count == 0 || half.size > most_sums_) return half;
    if (count == 1) return joined(half, half, kind, 1);
    if (count % 2 == 0) return joined(with(half, kind, count - 1), half, kind, count);
    const Half one = with(half, kind, (count - 1) / 2);
    return joined(one, one, kind, (count + 1) / 2);
  }

  /// `a` and, joined to it, `b` with `count` more of the kind in every set.
  Half joined(const Half& a, const Half& b, const Kind& kind, std::int64_t count) const {
    const std::int64_t low = times_up(kind.low_pg(), count);
    const std::int64_t width = times_up(kind.high_pg() - kind.low_pg(), count);
    Half result = a;
    for (const auto& [narrower, list] : b.by_width) {
      const std::int64_t wide = add_up(narrower, width);
      if (wide > band_.high_pg - std::max<std::int64_t>(band_.low_pg, 0)) break;
      List& into = result.by_width[wide];
      result.size -= into.size();
      into = merged(into, list, low, band_.high_pg - wide);
      result.size += into.size();
      if (result.size > most_sums_) break;
    }
    return result;
  }

  static List merged(const List& a, const List& b, std::int64_t more, std::int64_t most) {
    List result;
    result.reserve(a.size() + b.size());
    auto left = a.begin();
    for (const Sum& sum : b) {
      const std::int64_t low = add_up(sum.low, more);
      if (low > most) break;
      while (left != a.end() && left->low < low) result.push_back(*left++);
      if (left != a.end() && left->low == low) {
        result.push_back({low, left->ways + sum.ways});
        ++left;
      } else {
        result.push_back({low, sum.ways});
      }
    }
    result.insert(result.end(), left, a.end());
    return result;
  }

  /// Width by width.
  N met(const Half& a, Half& b) const {
    for (auto& [width, list] : b.by_width)
      for (std::size_t n = 1; n < list.size(); ++n) list[n].ways += list[n - 1].ways;
    N total(0);
    for (const auto& [width, left] : a.by_width)
      for (const auto& [other, right] : b.by_width) {
        const std::int64_t most = band_.high_pg - width - other;
        if (most < band_.low_pg) break;
        std::size_t to = right.size(), under = right.size();
        for (const Sum& sum : left) {
          while (to > 0 && right[to - 1].low > most - sum.low) --to;
          while (under > 0 && right[under - 1].low >= band_.low_pg - sum.low) --under;
          if (to == 0) break;
          if (to == under) continue;
          const N below = under == 0 ? N(0) : right[under - 1].ways;
          total += sum.ways * (right[to - 1].ways - below);
        }
      }
    return total;
  }

  struct Ends {
    std::int64_t low, high;
    N ways;
  };

  static std::vector<Ends> ends(const Half& half) {
    std::vector<Ends> all;
    all.reserve(half.size);
    for (const auto& [width, list] : half.by_width)
      for (const Sum& sum : list) all.push_back({sum.low, sum.low + width, sum.ways});
    std::sort(all.begin(), all.end(), [](const Ends& x, const Ends& y) { return x.low < y.low; });
    return all;
  }

  /// The right half comes into a tree of sums over the ranks of its heavier ends as the left one grows
  /// heavy enough for it.
  N met_in_tree(const Half& a, const Half& b) const {
    const std::vector<Ends> left = ends(a), right = ends(b);
    std::vector<std::int64_t> ranks;
    for (const Ends& each : right) ranks.push_back(each.high);
    std::sort(ranks.begin(), ranks.end());
    ranks.erase(std::unique(ranks.begin(), ranks.end()), ranks.end());
    std::vector<N> tree(ranks.size() + 1, N(0));
    N total(0);
    std::size_t from = right.size();
    for (const Ends& each : left) {
      for (; from > 0 && right[from - 1].low >= band_.low_pg - each.low; --from) {
        const auto rank = std::lower_bound(ranks.begin(), ranks.end(), right[from - 1].high) - ranks.begin();
        for (auto n = static_cast<std::size_t>(rank) + 1; n < tree.size(); n += n & -n)
          tree[n] += right[from - 1].ways;
      }
      N within(0);
      const auto rank =
          std::upper_bound(ranks.begin(), ranks.end(), band_.high_pg - each.high) - ranks.begin();
      for (auto n = static_cast<std::size_t>(rank); n > 0; n -= n & -n) within += tree[n];
      total += each.ways * within;
    }
    return total;
  }

  Band band_;
  std::size_t most_sums_;
};

/// Width by width of the whole set, where those are few: a weight that holds the width in its upper digits
/// makes sums of the question, of which near-equal masses share most. Nothing: too many widths or nodes.
std::optional<Count> by_whole_widths(const std::vector<Kind>& kinds, Band band) {
  constexpr std::int64_t kMostWidths = 256;
  constexpr Effort kWalk{100'000, 1, 0, 0};
  std::int64_t step = 0, all = 0;
  for (const Kind& kind : kinds) {
    step = std::gcd(step, kind.high_pg() - kind.low_pg());
    all = add_up(all, times_up(kind.low_pg(), kind.count));
  }
  const std::int64_t low = std::max<std::int64_t>(band.low_pg, 0);
  const std::int64_t widths = step == 0 ? 0 : (band.high_pg - low) / step;
  const std::int64_t digit = add_up(all, 1);  // no sum of least weights is as heavy
  if (widths > kMostWidths || digit > INT64_MAX / (widths + 2)) return std::nullopt;
  std::vector<Weight> weights;
  for (const Kind& kind : kinds) {
    const std::int64_t width = step == 0 ? 0 : (kind.high_pg() - kind.low_pg()) / step;
    weights.push_back({add_up(kind.low_pg(), times_up(digit, width)), kind.count});
  }
  Sums sums(std::move(weights), digit * (widths + 1), kWalk);
  Count total = 0;
  for (std::int64_t width = 0; width <= widths; ++width) {
    const std::int64_t most = std::min(band.high_pg - width * step, all);
    if (most < low) continue;
    const auto to = sums.at_most(digit * width + most);
    const auto under = sums.at_most(digit * width + low - 1);
    if (!to || !under) return std::nullopt;
    total += *to - *under;
  }
  return total;
}

}  // namespace

std::optional<Count> landing_at_both_ends(const std::vector<Kind>& kinds, Band band, std::size_t most_sums) {
  if (band.low_pg > band.high_pg || band.high_pg < 0) return Count(0);
  double bits = 0;
  for (const Kind& kind : kinds) bits += choice_bits(kind.count);
  const auto by_halves = [&](std::size_t most) {
    return counting(bits, [&](auto zero) -> std::optional<Count> {
      const auto count = BothEnds<decltype(zero)>(band, most).count(kinds);
      if (!count) return std::nullopt;
      return wide(*count);
    });
  };
  constexpr std::size_t kFew = 1 << 18;
  std::optional<Count> count = by_halves(std::min(most_sums, kFew));
  if (!count) count = by_whole_widths(kinds, band);
  if (!count && most_sums > kFew) count = by_halves(most_sums);
  if (count && band.low_pg <= 0) --*count;  // the empty set
  return count;
}

}  // namespace lw::weigh

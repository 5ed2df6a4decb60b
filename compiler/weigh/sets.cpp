#include "weigh/sets.hpp"

#include <algorithm>
#include <numeric>

#include "weigh/both_ends.hpp"

namespace lw::weigh {
namespace {

std::vector<std::size_t> heaviest_first(const std::vector<Kind>& kinds) {
  std::vector<std::size_t> order(kinds.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return kinds[a].high_pg() > kinds[b].high_pg(); });
  return order;
}

template <class Pg>
std::vector<Weight> weights(const std::vector<Kind>& kinds, const std::vector<std::size_t>& order, Pg&& pg) {
  std::vector<Weight> result;
  for (const std::size_t i : order) result.push_back({pg(kinds[i]), kinds[i].count});
  return result;
}

/// Depth first, the heaviest kind first; with counts, into no branch in which nothing lands. The list is the
/// same without them.
class Lister {
 public:
  Lister(const std::vector<Kind>& kinds, const std::vector<std::size_t>& order, Sums* low, Sums* high,
         Band band, Which which, std::size_t most, std::size_t most_steps)
      : kinds_(kinds),
        order_(order),
        low_(low),
        high_(high),
        band_(band),
        which_(which),
        most_(most),
        most_steps_(most_steps) {
    rest_.assign(order.size() + 1, 0);
    for (std::size_t at = order.size(); at-- > 0;)
      rest_[at] = add_up(rest_[at + 1], times_up(kinds[order[at]].high_pg(), kinds[order[at]].count));
    parts_.assign(kinds.size(), 0);
  }

  /// Nothing: not so many steps led to its end.
  std::optional<Listing> run() {
    go(0, 0, 0, false);
    if (steps_ > most_steps_) return std::nullopt;
    return std::move(listing_);
  }
  /// What was found, where the steps did not lead to the end.
  Listing so_far() { return std::move(listing_); }

 private:
  void take() {
    if (listing_.sets.size() >= most_)
      listing_.whole = false;
    else
      listing_.sets.push_back(parts_);
  }

  bool hopeless(std::size_t at, std::int64_t low, std::int64_t high) {
    if (low > band_.high_pg || add_up(high, rest_[at]) < band_.low_pg) return true;
    // Those light enough are more than those too light: some are neither.
    return low_ != nullptr && !low_->exceeds(at, band_.high_pg - low, *high_, band_.low_pg - high - 1);
  }

  void go(std::size_t at, std::int64_t low, std::int64_t high, bool any) {
    if (!listing_.whole) return;
    if (++steps_ > most_steps_) {
      listing_.whole = false;
      return;
    }
    if (which_ == Which::minimal && any && high >= band_.low_pg) {
      if (low <= band_.high_pg) take();
      return;  // with more it would not be minimal
    }
    if (at == order_.size()) {
      if (any && low <= band_.high_pg && high >= band_.low_pg) take();
      return;
    }
    if (hopeless(at, low, high)) return;
    const Kind& kind = kinds_[order_[at]];
    std::int64_t& here = parts_[order_[at]];
    for (here = 0; here <= kind.count; ++here) {
      const std::int64_t with_low = add_up(low, times_up(kind.low_pg(), here));
      const std::int64_t with_high = add_up(high, times_up(kind.high_pg(), here));
      if (with_low > band_.high_pg) break;
      go(at + 1, with_low, with_high, any || here > 0);
      if (which_ == Which::minimal && (any || here > 0) && with_high >= band_.low_pg) break;
    }
    here = 0;
  }

  const std::vector<Kind>& kinds_;
  const std::vector<std::size_t>& order_;
  Sums* low_;  // null: without counts
  Sums* high_;
  Band band_;
  Which which_;
  std::size_t most_, most_steps_;
  std::vector<std::int64_t> rest_;
  Parts parts_;
  Listing listing_;
  std::size_t steps_ = 0;
};

}  // namespace

Load load_of(const std::vector<Kind>& kinds, const Parts& parts) {
  Load load;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    load.nominal_pg = add_up(load.nominal_pg, times_up(kinds[i].mass_pg, parts[i]));
    load.low_pg = add_up(load.low_pg, times_up(kinds[i].low_pg(), parts[i]));
    load.high_pg = add_up(load.high_pg, times_up(kinds[i].high_pg(), parts[i]));
  }
  return load;
}

Sets::Sets(std::vector<Kind> kinds, std::int64_t most_pg, Effort effort)
    : kinds_(std::move(kinds)),
      order_(heaviest_first(kinds_)),
      most_pg_(most_pg),
      effort_(effort),
      exact_(std::all_of(kinds_.begin(), kinds_.end(), [](const Kind& k) { return k.tolerance_pg == 0; })),
      nominal_(weights(kinds_, order_, [](const Kind& k) { return k.mass_pg; }), most_pg, effort),
      low_(weights(kinds_, order_, [](const Kind& k) { return k.low_pg(); }), most_pg, effort),
      high_(weights(kinds_, order_, [](const Kind& k) { return k.high_pg(); }), most_pg, effort) {}

std::optional<Count> Sets::between(Sums& sums, Band band) const {
  if (band.low_pg > band.high_pg || band.high_pg < 0) return Count(0);
  const auto to = sums.at_most(band.high_pg);
  const auto under = sums.at_most(band.low_pg - 1);
  if (!to || !under) return std::nullopt;
  return Count(*to - *under - (band.low_pg <= 0 ? 1 : 0));
}

std::optional<Count> Sets::nominally(Band band) { return between(nominal_, band); }

std::optional<Count> Sets::possibly(Band band) {
  if (exact_) return nominally(band);
  if (band.low_pg > band.high_pg || band.high_pg < 0) return Count(0);
  const auto light_enough = low_.at_most(band.high_pg);
  const auto too_light = high_.at_most(band.low_pg - 1);
  if (!light_enough || !too_light) return std::nullopt;
  return Count(*light_enough - *too_light - (band.low_pg <= 0 ? 1 : 0));
}

/// Whether some set can be both under the band and over it: tolerances of things light enough for it that
/// together are wider than it is.
bool Sets::some_wider_than(Band band) const {
  if (band.low_pg <= 0) return false;
  std::int64_t widest = 0;
  for (const Kind& kind : kinds_) {
    const std::int64_t low = kind.low_pg();
    const std::int64_t most = low > 0 ? std::min(kind.count, (band.low_pg - 1) / low) : kind.count;
    widest = add_up(widest, times_up(kind.high_pg() - low, most));
  }
  return widest > band.high_pg - band.low_pg + 1;
}

std::optional<Count> Sets::surely(Band band) {
  if (exact_) return nominally(band);
  if (band.low_pg > band.high_pg || band.high_pg < 0) return Count(0);
  if (some_wider_than(band)) return landing_at_both_ends(kinds_, band, effort_.sums / 2);
  // All that are not too heavy at their most, but those that are too light at their least.
  const auto not_over = high_.at_most(band.high_pg);
  const auto under = low_.at_most(band.low_pg - 1);
  if (!not_over || !under) return std::nullopt;
  return Count(*not_over - *under - (band.low_pg <= 0 ? 1 : 0));
}

Counts Sets::count(Band band) {
  if (!exact_) return {surely(band), nominally(band), possibly(band)};
  const auto landing = nominally(band);
  return {landing, landing, landing};
}

Listing Sets::list(Band band, Which which, std::size_t most) {
  // Where much lands the first sets are soon found, and the counts would take long.
  constexpr std::size_t kFirstSteps = 100'000;
  Lister quick(kinds_, order_, nullptr, nullptr, band, which, most, std::min(effort_.steps, kFirstSteps));
  std::optional<Listing> found = quick.run();
  if (!found) {
    Lister lister(kinds_, order_, exact_ ? &nominal_ : &low_, exact_ ? &nominal_ : &high_, band, which, most,
                  effort_.steps);
    found = lister.run();
    if (!found) found = lister.so_far();
  }
  Listing listing = std::move(*found);
  const auto things = [](const Parts& parts) {
    return std::accumulate(parts.begin(), parts.end(), std::int64_t{0});
  };
  std::stable_sort(listing.sets.begin(), listing.sets.end(),
                   [&](const Parts& a, const Parts& b) { return things(a) < things(b); });
  return listing;
}

}  // namespace lw::weigh

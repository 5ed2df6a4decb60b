#include "weigh/pick.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <numeric>

#include "text/quantity.hpp"
#include "weigh/scale.hpp"

namespace lw::weigh {
namespace {

constexpr std::size_t kMostEach = 40;  // sets that are tried for a window
constexpr int kMostTries = 4000;

bool wants_things(const WeighedRoom& weighed, const Place& place) {
  return !place.intended && place.bounded && place.low <= place.high && !weighed.window(place).follows &&
         !weighed.window(place).target.empty();
}

/// How many of each kind all windows ask for: on one scale one after another, on several at once.
std::vector<std::int64_t> asked(const Plan& plan) {
  std::map<model::InputId, std::vector<std::int64_t>> by_scale;
  for (const Place& place : plan.places) {
    if (!place.intended) continue;
    std::vector<std::int64_t>& most = by_scale[place.scale];
    most.resize(plan.kinds.size());
    for (std::size_t i = 0; i < most.size(); ++i) most[i] = std::max(most[i], (*place.intended)[i]);
  }
  std::vector<std::int64_t> sum(plan.kinds.size());
  for (const auto& [scale, most] : by_scale)
    for (std::size_t i = 0; i < sum.size(); ++i) sum[i] = add_up(sum[i], most[i]);
  return sum;
}

class Picking {
 public:
  explicit Picking(WeighedRoom& weighed) : weighed_(weighed) {
    pick_.plan = {weighed.places(), weighed.kinds()};
    for (std::size_t n = 0; n < pick_.plan.places.size(); ++n)
      if (wants_things(weighed, pick_.plan.places[n])) open_.push_back(n);
  }

  Pick run() {
    for (const std::size_t at : open_) {
      candidates_.push_back(candidates(pick_.plan.places[at]));
      if (candidates_.back().empty()) pick_.without.push_back(at);
    }
    for (std::size_t n = 0; n < pick_.plan.places.size(); ++n)
      if (const Place& place = pick_.plan.places[n]; place.intended && place.further_pg == 0)
        judged_.push_back(n);
    judged_.insert(judged_.end(), open_.begin(), open_.end());
    if (!pick_.without.empty() || open_.empty() || !choose(0)) return std::move(pick_);
    pick_.found = true;
    keep_others();
    Sets sets(pick_.plan.kinds, weighed_.most_pg());
    for (const std::size_t at : judged_)
      pick_.chosen.push_back({at, fit(weighed_, pick_.plan, at, sets).widest});
    return std::move(pick_);
  }

 private:
  /// Sets that land as written, the nearest to the target first.
  std::vector<Parts> candidates(const Place& place) {
    std::vector<Parts> found;
    std::vector<std::pair<std::int64_t, std::size_t>> order;
    constexpr std::size_t kMostListed = 4000;
    Listing listing = weighed_.sets().list(place.band, Which::minimal, kMostListed);
    if (!listing.whole) pick_.gave_up = true;
    for (std::size_t n = 0; n < listing.sets.size(); ++n) {
      const Landing landing = weighed_.landing(place, listing.sets[n]);
      if (landing.grade > Grade::nominally) continue;
      const std::int64_t off = landing.load.nominal_pg - place.further_pg;
      order.emplace_back(off < 0 ? -off : off, n);
    }
    std::sort(order.begin(), order.end());
    if (order.size() > kMostEach) pick_.gave_up = true;
    for (std::size_t n = 0; n < order.size() && n < kMostEach; ++n)
      found.push_back(std::move(listing.sets[order[n].second]));
    return found;
  }

  bool possible() {
    std::vector<std::int64_t> counts = asked(pick_.plan);
    for (std::size_t i = 0; i < counts.size(); ++i)
      if (counts[i] > weighed_.kinds()[i].count) return false;
    if (++tries_ > kMostTries) {
      pick_.gave_up = true;
      return false;
    }
    for (std::size_t i = 0; i < counts.size(); ++i) pick_.plan.kinds[i].count = counts[i];
    std::vector<std::size_t> known;  // those that have something to mean by now
    for (const std::size_t at : judged_)
      if (pick_.plan.places[at].intended) known.push_back(at);
    return all_fit(weighed_, pick_.plan, known);
  }

  bool choose(std::size_t n) {
    if (n == open_.size()) return true;
    Place& place = pick_.plan.places[open_[n]];
    const std::int64_t target_pg = place.further_pg;
    for (const Parts& parts : candidates_[n]) {
      place.intended = parts;
      place.further_pg = 0;
      if (possible() && choose(n + 1)) return true;
      if (tries_ > kMostTries) break;
    }
    place.intended.reset();
    place.further_pg = target_pg;
    return false;
  }

  /// Of every thing as many as leave each window its own.
  void keep_others() {
    for (std::size_t i = 0; i < pick_.plan.kinds.size(); ++i) {
      std::int64_t& count = pick_.plan.kinds[i].count;
      const std::int64_t least = count;
      for (count = weighed_.kinds()[i].count; count > least && !all_fit(weighed_, pick_.plan, judged_);) {
        if (++tries_ > 2 * kMostTries) count = least + 1;
        --count;
      }
    }
  }

  WeighedRoom& weighed_;
  Pick pick_;
  std::vector<std::size_t> open_, judged_;
  std::vector<std::vector<Parts>> candidates_;
  int tries_ = 0;
};

}  // namespace

Pick pick(WeighedRoom& weighed) { return Picking(weighed).run(); }

std::string pick_text(const WeighedRoom& weighed, const Pick& pick) {
  const model::Room& room = weighed.room();
  std::string out;
  if (!pick.found) {
    for (const std::size_t at : pick.without) {
      const Place& place = pick.plan.places[at];
      out += fmt::format("# No things of the list make what {} asks for.\n", weighed.window(place).name);
    }
    if (pick.without.empty())
      out += pick.gave_up ? "# Not decided: no choice was found, and there were too many to try them all.\n"
                          : "# No choice of things leaves each window its own.\n";
    return out;
  }
  std::string left_out;
  for (std::size_t i = 0; i < pick.plan.kinds.size(); ++i) {
    const model::Thing& thing = room.things[model::index(weighed.things()[i])];
    const std::int64_t count = pick.plan.kinds[i].count;
    if (count < thing.count)
      left_out +=
          fmt::format("{}{}", left_out.empty() ? "" : ", ",
                      count == 0 ? thing.name : fmt::format("{} of {}", thing.count - count, thing.name));
    if (count == 0) continue;
    out += fmt::format("thing {} {}", thing.name, mass(*thing.mass_pg));
    if (thing.tolerance_pg != 0) out += " ± " + mass(thing.tolerance_pg);
    std::string options;
    const auto option = [&](const std::string& words) { options += (options.empty() ? "" : ", ") + words; };
    if (thing.tag) {
      std::string digits;
      for (const char byte : *thing.tag)
        digits += fmt::format("{}{:02X}", digits.empty() ? "" : " ", static_cast<unsigned char>(byte));
      option(fmt::format("tag \"{}\"", digits));
    }
    if (count != 1) option(fmt::format("count {}", count));
    if (!thing.home.empty()) {
      std::string quoted;
      for (const char each : thing.home) quoted += each == '"' ? std::string("\"\"") : std::string(1, each);
      option(fmt::format("home \"{}\"", quoted));
    }
    if (thing.normal_spread) option("spread normal");
    out += options.empty() ? "\n" : " { " + options + " }\n";
  }
  if (!left_out.empty()) out += "# Leave out: " + left_out + ".\n";
  for (const Pick::Chosen& chosen : pick.chosen) {
    const Place& place = pick.plan.places[chosen.place];
    out += fmt::format("# In {}.\n", room.props[model::index(place.prop)].name);
    out += written(weighed, place, chosen.tolerance) + "\n";
  }
  return out;
}

}  // namespace lw::weigh

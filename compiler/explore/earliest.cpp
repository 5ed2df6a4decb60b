// See earliest.hpp.
#include "explore/earliest.hpp"

#include <algorithm>
#include <vector>

#include "explore/search.hpp"

namespace lw::explore {

using rows::FactKind;

bool Earliest::hold_up(Slice& part) {
  // What is solved by an override waits for nothing.
  if (freedoms_.override_) return false;
  bool any = false;
  for (std::size_t c = 0; c < part.parts.size(); ++c) {
    for (std::size_t p = 0; p < part.parts[c].free_props.size(); ++p) {
      if (!part.parts[c].free_props[p]) continue;
      part.parts[c].not_before_ms[p] = of({static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p)});
      any = any || part.parts[c].not_before_ms[p] > 0;
    }
    for (FarInput& far : part.parts[c].far) {
      if (!far.stays || far.says.kind != FactKind::prop_solved) continue;
      far.not_before_ms = of({far.controller, static_cast<std::uint8_t>(far.says.a)});
      any = any || far.not_before_ms > 0;
    }
  }
  return any;
}

std::int64_t Earliest::of(Seat prop) {
  const auto known = known_.emplace(prop, 0);
  // Of props that wait for each other: nothing is known of the one that was asked first.
  if (!known.second) return known.first->second;
  const std::int64_t found = worked_out(prop);
  return known_[prop] = found;
}

std::int64_t Earliest::worked_out(Seat prop) {
  // In a session: that of the controller that keeps it, so that its start is looked at.
  const std::vector<Question> questions{
      all_of({fact_holds(prop.first, {FactKind::prop_solved, prop.second, 0, 0, {}}),
              fact_holds(0, {FactKind::session_in, 1, 2, 0, {}})})};
  Props frontier;
  Slice part = slice_of(room_, tables_, questions, {}, freedoms_, {}, frontier, true);
  part.loose = true;
  part.forget_resets();
  if (!part.parts[0].present || part.round_ticks() == 0) return 0;
  hold_up(part);
  const std::int64_t tick_ms = part.unit_ms();
  Watch watch{Watch::Kind::not_before, 0, 0, static_cast<Count>(cap_ms_ / tick_ms)};
  if (watch.scans <= 0) return 0;
  Space space(part, questions, &watch, false);
  space.let_count_more();
  space.limit(budget_);
  Search search(space, budget_.states);
  Count least = watch.scans + 1;
  const auto early = [&](const Location& location, const Outcome&) { return !space.is_late(location); };
  const Search::End end = search.run(early, [&](std::uint32_t node, std::uint32_t k) {
    const Node& from = search.nodes()[node];
    const Location& location = space.at(from.location);
    const Outcome& outcome = location.outcomes[k];
    if (!(outcome.answers & 1)) return false;
    const Count counted = space.counted(location, outcome, from.zone);
    if (counted != 0) least = std::min(least, counted);
    return least == 1;
  });
  if (end != Search::End::complete || space.overflowed()) return 0;
  return static_cast<std::int64_t>(least - 1) * tick_ms;
}

}  // namespace lw::explore

// Random rooms: times, facts and conditions.
#include <algorithm>
#include <array>
#include <set>

#include "random_maker.hpp"

namespace lw::oracle {

std::string Maker::milliseconds(std::size_t controller, int low, int high) {
  const int scan = scan_ms_[controller];
  if (small_) {
    high = std::min(high, 3);
    low = std::min(low, high);
  }
  int ms = scan * dice_.from(low, high);
  if (dice_.chance(25)) ms -= dice_.from(1, scan - 1);  // a part of a scan counts as one
  return std::to_string(ms) + " ms";
}

std::string Maker::time(const Scope& scope, int low, int high) {
  if (!scope.times.empty() && dice_.chance(20)) return dice_.one_of(scope.times);
  return milliseconds(scope.controller, low, high);
}

std::string Maker::count_fact(const std::string& name, const Counting& counting) {
  const int roll = dice_.from(0, 2);
  if (roll == 0 || counting.low == counting.high)
    return name + " is " + std::to_string(dice_.from(counting.low, counting.high));
  if (roll == 1) return name + " above " + std::to_string(dice_.from(counting.low, counting.high - 1));
  return name + " below " + std::to_string(dice_.from(counting.low + 1, counting.high));
}

std::string Maker::timer_fact(const Scope& scope, const std::string& name) {
  switch (dice_.from(0, 2)) {
    case 0:
      return name + " done";
    case 1:
      return name + " past " + milliseconds(scope.controller, 1, 2);
    default:
      return name + " has " + milliseconds(scope.controller, 1, 2) + " left";
  }
}

std::optional<std::string> Maker::device_fact(const Scope& scope) {
  std::vector<const Device*> all;
  for (const Device& device : scope.devices)
    if (device.kind <= Kind::signal && device.kind != Kind::operator_button) {
      all.push_back(&device);
      if (device.controller == scope.controller) all.insert(all.end(), 2, &device);
    }
  if (all.empty()) return std::nullopt;
  const Device& device = *dice_.one_of(all);
  const std::string& name = device.name;
  if (dice_.chance(8)) return name + " lost";
  switch (device.kind) {
    case Kind::contact:
      return name + " " + (dice_.chance(50) ? device.closed : device.open);
    case Kind::button:
      return name + " held";
    case Kind::signal:
      return name + (dice_.chance(60) ? " on" : " off");
    case Kind::reader: {
      const int roll = dice_.from(1, 100);
      if (roll <= 25) return name + " reads nothing";
      if (roll <= (small_ ? 48 : 40) || device.tags.empty()) return name + " reads anything";
      if (roll <= (small_ ? 72 : 60)) return name + " reads anything but " + dice_.one_of(device.tags);
      return name + " reads " + dice_.one_of(device.tags);
    }
    case Kind::scale:
      return name + (dice_.chance(60) ? " empty" : " moving");
    case Kind::gauge:
      return name + " moving";
    default:
      return std::nullopt;
  }
}

std::optional<std::string> Maker::prop_fact(const Scope& scope) {
  if (!scope.solvable.empty() && dice_.chance(50)) return dice_.one_of(scope.solvable) + " solved";
  if (scope.props.empty()) return std::nullopt;
  const PropPlan& plan = *dice_.one_of(scope.props);
  const int roll = dice_.from(1, 100);
  if (roll <= 20 && plan.has_goal) return plan.name + " solved";
  if (roll <= 28) return plan.name + " waiting";
  if (roll <= 40 && !plan.items.counters.empty()) {
    const Counting& counter = dice_.one_of(plan.items.counters);
    return count_fact(plan.name + "." + counter.name, counter);
  }
  if (roll <= 48 && !plan.items.timers.empty() && scan_ms_[plan.controller] == scan_ms_[scope.controller])
    return timer_fact(scope, plan.name + "." + dice_.one_of(plan.items.timers));
  // A sequence may read another only after it has moved; a far one comes over the link.
  if (roll <= 56 && !plan.items.sequences.empty() &&
      (!scope.in_sequence || plan.controller != scope.controller)) {
    const Counting& sequence = dice_.one_of(plan.items.sequences);
    return count_fact(plan.name + "." + sequence.name, sequence);
  }
  return plan.name + " " + dice_.one_of(plan.states);
}

std::optional<std::string> Maker::item_fact(const Scope& scope) {
  std::vector<std::string> all;
  for (const Items* items : scope.items) {
    for (const std::string& window : items->windows) all.insert(all.end(), 3, window);
    for (const std::string& let : items->lets)
      if (!scope.in_let) all.push_back(let);
    for (const std::string& timer : items->timers) all.push_back(timer_fact(scope, timer));
    for (const Counting& counter : items->counters) all.push_back(count_fact(counter.name, counter));
    if (!scope.in_sequence)
      for (const Counting& sequence : items->sequences) all.push_back(count_fact(sequence.name, sequence));
  }
  if (!scope.in_let)
    for (const std::string& let : scope.room_lets) all.push_back(let);
  if (all.empty()) return std::nullopt;
  return dice_.one_of(all);
}

std::string Maker::level_fact(const Scope& scope) {
  std::vector<const Device*> all;
  for (const Device& device : scope.devices)
    if (device.kind >= Kind::lamp) all.push_back(&device);
  if (all.empty()) return "session running";
  const Device& device = *dice_.one_of(all);
  switch (device.kind) {
    case Kind::lock:
      return device.name + (dice_.chance(50) ? " released" : " secured");
    case Kind::voice:
      return device.name + " playing";
    default:
      break;
  }
  switch (dice_.from(0, device.kind == Kind::relay ? 2 : 3)) {
    case 0:
      return device.name + " on";
    case 1:
      return device.name + " off";
    case 2:
      return device.name + " blinking";
    default:
      return device.name + (dice_.chance(70) ? " at 40 %" : " at 20 %");
  }
}

std::optional<std::string> Maker::session_fact(const Scope& scope) {
  switch (dice_.from(0, 4)) {
    case 3:
      if (endless_) return "session past " + milliseconds(scope.controller, 2, 10);
      return "session has " + milliseconds(scope.controller, 2, 10) + " left";
    case 0:
      return "session running";
    case 1:
      return "session ended";
    case 2:
      return "session past " + milliseconds(scope.controller, 2, 10);
    default:
      return "finish";
  }
}

std::optional<std::string> Maker::fact(const Scope& scope) {
  const int roll = dice_.from(1, 100);
  std::optional<std::string> text;
  if (roll <= 40) text = device_fact(scope);
  if (roll > 40 && roll <= 65) text = item_fact(scope);
  if (roll > 65 && roll <= 82) text = prop_fact(scope);
  if (roll > 82 && roll <= 90 && !(scope.design && scope.devices.empty())) text = level_fact(scope);
  if (roll > 90 && roll <= 96) text = session_fact(scope);
  if (roll > 96 && !scope.controllers.empty()) text = dice_.one_of(scope.controllers) + " lost";
  if (!text) text = device_fact(scope);
  if (!text) text = "session running";
  return text;
}

std::optional<std::string> Maker::edge(const Scope& scope) {
  std::vector<std::string> all;
  for (const Device& device : scope.devices) {
    if (device.controller != scope.controller) continue;
    if (device.kind == Kind::button || device.kind == Kind::operator_button)
      all.insert(all.end(), 3, device.name + " pressed");
    if (device.kind == Kind::keypad) {
      const std::array<const char*, 4> codes{"1", "12", "21", "122"};
      all.push_back(device.name + " enters \"" + codes[static_cast<std::size_t>(dice_.from(0, 3))] + "\"");
    }
  }
  for (const Items* items : scope.items)
    for (const Counting& sequence : items->sequences) {
      all.insert(all.end(), 2, sequence.name + " done");
      all.insert(all.end(), 2, sequence.name + " wrong");
    }
  if (all.empty()) return std::nullopt;
  return dice_.one_of(all);
}

Piece Maker::joined_condition(const Scope& scope, Edges edges, int depth) {
  const int roll = dice_.from(1, 100);
  if (edges == Edges::must) {
    const auto first = edge(scope);
    if (!first) return Piece(*fact(scope));
    if (roll <= 55) return Piece(*first);
    if (roll <= 80) {  // an edge and a level
      std::vector<Piece> parts{Piece(*first), joined_condition(scope, Edges::none, depth + 1)};
      if (dice_.chance(30)) std::swap(parts[0], parts[1]);
      return Piece("(", std::move(parts), " and ", ")");
    }
    return Piece("(", {Piece(*first), joined_condition(scope, Edges::must, depth + 1)}, " or ", ")");
  }
  if (roll <= 55 + depth * 15) return Piece(*fact(scope));
  if (roll <= 64) return Piece("not ", {joined_condition(scope, Edges::none, depth + 1)}, "", "");
  std::vector<Piece> parts;
  std::set<std::string> written;  // one thing said twice is no second condition
  for (int n = dice_.from(2, 3); n > 0; --n) {
    Piece part = joined_condition(scope, Edges::none, depth + 1);
    if (roll <= 90 || written.insert(render(part)).second) parts.push_back(std::move(part));
  }
  if (parts.size() < 2) return parts.front();
  if (roll <= 78) return Piece("(", std::move(parts), " and ", ")");
  if (roll <= 90) return Piece("(", std::move(parts), " or ", ")");
  const std::string count = std::to_string(dice_.from(1, static_cast<int>(parts.size())));
  if (roll <= 96) return Piece("any " + count + " of (", std::move(parts), ", ", ")");
  return Piece("exactly " + std::to_string(dice_.from(0, 2)) + " of (", std::move(parts), ", ", ")");
}

/// `bare_join`: brackets round a whole `and` or `or` may be left out, since no `for` follows.
Piece Maker::condition(const Scope& scope, Edges edges, bool bare_join) {
  const Edges now = edges == Edges::may ? (dice_.chance(35) ? Edges::must : Edges::none) : edges;
  Piece piece = joined_condition(scope, now, 0);
  if (bare_join && piece.head == "(" && dice_.chance(50)) {
    piece.head.clear();
    piece.tail.clear();
  }
  return piece;
}

}  // namespace lw::oracle

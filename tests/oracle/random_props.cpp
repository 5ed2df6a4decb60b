// Random rooms: props, designs, and what stands in their braces.
#include <algorithm>

#include "random_maker.hpp"

namespace lw::oracle {

namespace {

bool is_switched(Kind kind) { return kind == Kind::lamp || kind == Kind::relay || kind == Kind::motor; }

}  // namespace

Items Maker::new_items(const char* prefix, bool sequences) {
  Items items;
  const auto name = [&](const char* what) { return prefix + std::string(what) + std::to_string(++number_); };
  for (int n = dice_.chance(35) ? 1 : 0; n > 0; --n) items.timers.push_back(name("timer"));
  for (int n = dice_.chance(40) ? 1 : 0; n > 0; --n) {
    const int low = dice_.chance(75) ? 0 : 1;
    items.counters.push_back({name("count"), low, low + dice_.from(1, small_ ? 2 : 4)});
  }
  if (!sequences) return items;
  for (int n = dice_.chance(60) ? dice_.from(1, 2) : 0; n > 0; --n)
    items.sequences.push_back({name("tune"), 0, dice_.from(1, 4)});  // high: steps
  return items;
}

void Maker::plan_props() {
  static const std::vector<std::string> kNames{"altar", "bell", "cage", "dial", "engine", "font"};
  static const std::vector<std::string> kStates{"dim", "armed", "lit", "bright"};
  int count = std::min(dice_.from(1, 6), dice_.from(1, 10));
  if (small_) count = dice_.chance(42) ? 1 : dice_.chance(80) ? 2 : 3;
  const std::size_t controllers = std::count(controllers_.begin(), controllers_.end(), "booth") != 0
                                      ? std::size_t{1}
                                      : controllers_.size();
  for (int n = 0; n < count; ++n) {
    PropPlan plan;
    plan.name = kNames[static_cast<std::size_t>(n)];
    plan.controller = static_cast<std::size_t>(dice_.from(0, static_cast<int>(controllers) - 1));
    plan.states.assign(kStates.begin(), kStates.begin() + dice_.from(1, 4));
    plan.has_goal = n == 0 || dice_.chance(small_ ? 55 : 75);
    plan.items = new_items("", true);
    plans_.push_back(std::move(plan));
  }
}

Scope Maker::scope_of(const PropPlan& plan) const {
  Scope scope;
  scope.controller = plan.controller;
  scope.here = &plan;
  for (const Device& device : devices_) {
    if (device.kind == Kind::signal) {
      const auto& joins = link_joins_[device.link];
      if (std::find(joins.begin(), joins.end(), plan.controller) == joins.end()) continue;
      scope.devices.push_back(device);
      scope.devices.back().controller = plan.controller;
    } else if (joined(plan.controller, device.controller)) {
      scope.devices.push_back(device);
    }
  }
  scope.things = things_;
  scope.clips = clips_;
  for (const auto& [cue, link] : cues_) {
    const auto& joins = link_joins_[link];
    if (std::find(joins.begin(), joins.end(), plan.controller) != joins.end()) scope.cues.push_back(cue);
  }
  scope.times = times_;
  for (const PropPlan& other : plans_)
    if (joined(plan.controller, other.controller)) scope.props.push_back(&other);
  for (std::size_t c = 0; c < controllers_.size(); ++c)
    if (c != plan.controller && joined(plan.controller, c)) scope.controllers.push_back(controllers_[c]);
  return scope;
}

std::optional<Piece> Maker::window(const Scope& scope, const std::string& name, Items& items) {
  std::vector<const Device*> all;
  for (const Device& device : scope.devices)
    if (device.kind == Kind::scale || device.kind == Kind::gauge) all.push_back(&device);
  if (all.empty()) return std::nullopt;
  const Device& device = *dice_.one_of(all);
  const auto value = [&](int low, int high) {
    return std::to_string(dice_.from(std::max(low, device.from), std::min(high, device.to))) + device.unit;
  };
  const bool scale = device.kind == Kind::scale;
  std::string range;
  // Each form as often in a small room, which has few windows; by the rolls below.
  static const std::vector<int> kForms{1, 40, 60, 70, 85, 95};
  const int roll = small_ ? dice_.one_of(kForms) : dice_.from(1, 100);
  if (scale && roll <= 35 && !scope.things.empty()) {
    std::string sum = dice_.one_of(scope.things).name;
    if (dice_.chance(small_ ? 60 : 25)) sum = "2 x " + sum;
    if (dice_.chance(small_ ? 55 : 35)) sum += " + " + dice_.one_of(scope.things).name;
    range =
        sum + (dice_.chance(small_ ? 50 : 30) ? " ± 10 %" : " ± " + std::to_string(dice_.from(1, 4)) + " g");
  } else if (roll <= 50) {
    range = value(4, 30) + " ± " + std::to_string(dice_.from(1, 3)) + device.unit;
  } else if (roll <= 65) {
    const int low = dice_.from(std::max(2, device.from), std::min(24, device.to) - 2);
    const bool crosses = device.wraps && dice_.chance(small_ ? 95 : 50);
    const int high = dice_.from(low, std::min(low + 6, device.to - 1));
    range = crosses ? std::to_string(high) + device.unit + " to " + std::to_string(low) + device.unit
                    : std::to_string(low) + device.unit + " to " + std::to_string(high) + device.unit;
  } else if (device.wraps) {
    range = "between " + value(1, 8) + " and " + value(9, 24);
  } else {
    // Beside a window that is there already, or beside a quantity.
    std::string beside = value(6, 28);
    const std::string last = items.windows.empty() ? "" : items.windows.back();
    const bool has_neighbour = !last.empty() && bounded_windows_[last] == device.name;
    if (has_neighbour && dice_.chance(75)) beside = last;
    if (roll <= 78)
      range = "above " + beside;
    else if (roll <= 90)
      range = "below " + beside;
    else
      range = "between " + (scale ? "empty" : std::to_string(device.from) + device.unit) + " and " + beside;
  }
  items.windows.push_back(name);
  if (range.rfind("above", 0) != 0 && range.rfind("below", 0) != 0) bounded_windows_[name] = device.name;
  return Piece("window " + name + " on " + device.name + ": " + range);
}

Piece Maker::sequence(const Scope& scope, const Counting& counting) {
  Scope inner = scope;
  inner.in_sequence = true;
  std::vector<Piece> parts;
  const bool each = dice_.chance(35);
  std::string head = "sequence " + counting.name;
  if (each) {
    const Edges edges = dice_.chance(40) ? Edges::must : Edges::none;
    Piece event = condition(inner, edges, false);
    std::string hold;
    if (edges == Edges::none && dice_.chance(40)) hold = " for " + time(scope, 1, 4);
    parts.push_back(Piece(" each ", {event}, "", hold));
  }
  std::vector<Piece> steps;
  std::vector<std::string> moments;  // buttons: the steps that are met most easily
  for (const Device& device : scope.devices)
    if (device.kind == Kind::button && device.controller == scope.controller) moments.push_back(device.name);
  const bool rhythm = !each && !moments.empty() && dice_.chance(35);  // knocks, each in its time
  for (int n = 0; n < counting.high; ++n) {
    Piece step;
    if (!each && !moments.empty() && (rhythm || dice_.chance(55)))
      step = Piece(dice_.one_of(moments));
    else if (!each && dice_.chance(15))
      step = condition(inner, Edges::must, false);
    else
      step = condition(inner, Edges::none, false);
    if (n > 0 && dice_.chance(rhythm ? 80 : each ? 50 : 30)) {
      const int low = dice_.from(0, small_ ? 3 : 9);  // a debounced press cannot come again at once
      const int scan = scan_ms_[scope.controller];
      const int middle = small_ ? 2 : 8;
      const std::string gap = dice_.chance(50)
                                  ? std::to_string(low * scan) + " ms to " +
                                        std::to_string((low + dice_.from(1, small_ ? 2 : 5)) * scan) + " ms"
                                  : std::to_string(middle * scan) + " ms ± " +
                                        std::to_string(dice_.from(1, middle) * scan) + " ms";
      step = Piece(gap + ", ", {step}, "", "");
    }
    steps.push_back(std::move(step));
  }
  std::vector<Piece> given;
  if (dice_.chance(35)) given.push_back("within " + milliseconds(scope.controller, 4, 30));
  if (dice_.chance(25)) given.push_back("wrong ignored");
  parts.push_back(Piece(": ", std::move(steps), ", ", ""));
  parts.push_back(options(std::move(given)));
  return Piece(std::move(head), std::move(parts), "", "");
}

/// The declarations of a prop or a body; what was planned is declared, windows and lets are added to it.
void Maker::declare(const Scope& outer, Items& items, std::vector<Piece>& parts, bool in_state) {
  const std::string mark = in_state ? "own_" : "";
  Items windows;
  for (int n = dice_.from(small_ && !in_state ? 1 : 0, in_state ? 1 : small_ ? 2 : 3); n > 0; --n) {
    const std::string name = mark + "range" + std::to_string(++number_);
    if (auto piece = window(outer, name, windows)) {
      parts.push_back(std::move(*piece));
    }
  }
  Scope scope = outer;
  for (const std::string& timer : items.timers) {
    parts.push_back(Piece("timer " + timer + ": " + time(scope, 2, 6)));
  }
  for (const Counting& counter : items.counters) {
    parts.push_back(Piece("counter " + counter.name + ": " + std::to_string(counter.low) + " to " +
                          std::to_string(counter.high)));
  }
  // Each sequence reads only those before it: a ring of them is an error.
  Items known;
  known.timers = items.timers;
  known.counters = items.counters;
  known.windows = windows.windows;
  scope.items.push_back(&known);
  for (int n = dice_.chance(30) ? 1 : 0; n > 0; --n) {
    const std::string name = mark + "let" + std::to_string(++number_);
    Scope inner = scope;
    inner.in_let = inner.in_sequence = true;
    parts.push_back(Piece("let " + name + " be ", {condition(inner, Edges::none, true)}, "", ""));
    known.lets.push_back(name);
  }
  for (const Counting& planned : items.sequences) {
    parts.push_back(sequence(scope, planned));
    known.sequences.push_back({planned.name, 0, std::max(0, planned.high - 1)});  // places that are seen
  }
  items = known;
}

std::string Maker::level(const Scope& scope, Kind kind) {
  if (kind == Kind::voice) return "playing " + dice_.one_of(scope.clips);
  if (kind == Kind::lock) return dice_.chance(50) ? "released" : "secured";
  const int roll = dice_.from(1, kind == Kind::relay ? 80 : 100);
  if (roll <= 35) return "on";
  if (roll <= 55) return "off";
  if (roll <= 80) return "blinking every " + milliseconds(scope.controller, 2, 6);
  return "at 40 %";
}

std::optional<Piece> Maker::keep(const Scope& scope) {
  std::vector<const Device*> all;
  for (const Device& device : scope.devices)
    if (device.kind >= Kind::lamp && device.controller == scope.controller) all.push_back(&device);
  if (all.empty()) return std::nullopt;
  const Device& device = *dice_.one_of(all);
  std::string names = device.name;
  for (const Device* other : all)
    if (other != &device && is_switched(other->kind) && is_switched(device.kind) && dice_.chance(15)) {
      names += ", " + other->name;
      break;
    }
  const bool both = names.find(',') != std::string::npos;
  std::vector<Piece> parts;
  parts.push_back("keep " + names + " " +
                  (both ? (dice_.chance(50) ? "on" : "off") : level(scope, device.kind)));
  if (dice_.chance(55)) {
    parts.push_back(Piece(" while ", {condition(scope, Edges::none, true)}, "", ""));
  }
  if (dice_.chance(35)) parts.push_back(" then " + time(scope) + " longer");
  return Piece("", std::move(parts), "", "");
}

std::optional<Piece> Maker::action(const Scope& scope) {
  std::vector<std::string> all;
  std::vector<const Device*> outputs, voices;
  for (const Device& device : scope.devices) {
    if (device.controller != scope.controller || device.kind < Kind::lamp) continue;
    outputs.push_back(&device);
    if (device.kind == Kind::voice) voices.push_back(&device);
  }
  if (!outputs.empty()) {
    const Device& device = *dice_.one_of(outputs);
    const std::string text = "keep " + device.name + " " + level(scope, device.kind) + " for " + time(scope);
    all.insert(all.end(), 2, text);
  }
  if (!voices.empty()) {
    const std::string voice = dice_.one_of(voices)->name;
    all.push_back("play " + dice_.one_of(scope.clips) + " on " + voice +
                  (dice_.chance(30) ? " at 60 %" : ""));
    if (dice_.chance(50)) all.push_back("quiet " + voice);
  }
  for (const Items* items : scope.items) {
    for (const std::string& timer : items->timers) {
      all.insert(all.end(), 2, "start " + timer);
      all.push_back("stop " + timer);
    }
    for (const Counting& counter : items->counters) {
      const std::string n = std::to_string(dice_.from(1, std::max(1, counter.high - counter.low)));
      all.insert(all.end(), 2, "add " + n + " to " + counter.name);
      all.push_back("take " + n + " from " + counter.name);
      all.push_back("set " + counter.name + " to " + std::to_string(dice_.from(counter.low, counter.high)));
    }
  }
  if (!scope.cues.empty()) all.push_back("send " + dice_.one_of(scope.cues));
  if (all.empty()) return std::nullopt;
  return Piece(dice_.one_of(all));
}

std::optional<Piece> Maker::actions(const Scope& scope) {
  std::vector<Piece> all;
  for (int n = dice_.from(1, 3); n > 0; --n)
    if (auto one = action(scope)) all.push_back(std::move(*one));
  if (all.empty()) return std::nullopt;
  return Piece("{ ", std::move(all), ", ", " }");
}

std::optional<Piece> Maker::rule(const Scope& scope, const PropPlan& plan) {
  std::vector<Piece> parts;
  const bool moves = dice_.chance(50);
  const bool after = dice_.chance(22);
  bool edge = false;
  if (after) {
    parts.push_back("after " + time(scope));
  } else {
    const bool hold = dice_.chance(35);
    edge = !hold && dice_.chance(40);
    parts.push_back(Piece("when ", {condition(scope, edge ? Edges::must : Edges::none, !hold)}, "", ""));
    if (hold) parts.push_back(" for " + time(scope));
  }
  std::optional<Piece> acts = actions(scope);
  if (!moves && !acts) return std::nullopt;
  if (!moves && !edge && dice_.chance(40)) parts.push_back(" again every " + time(scope, 1, 4));
  if (!moves || (acts && dice_.chance(30))) {
    parts.push_back(Piece(" ", {std::move(*acts)}, "", ""));
  }
  if (moves) parts.push_back(" -> " + dice_.one_of(plan.states));
  return Piece("", std::move(parts), "", "");
}

std::vector<Piece> Maker::body(const Scope& outer, const PropPlan& plan, bool shared) {
  std::vector<Piece> parts;
  Scope scope = outer;
  Items own;
  if (dice_.chance(35)) {
    own = new_items("own_", dice_.chance(60));
    declare(outer, own, parts, true);
    scope.items.push_back(&own);
  }
  const auto add = [&](std::optional<Piece> piece) {
    if (piece) parts.push_back(std::move(*piece));
  };
  for (int n = dice_.from(shared ? 1 : 0, 3); n > 0; --n) add(rule(scope, plan));
  for (int n = dice_.from(0, 2); n > 0; --n) add(keep(scope));
  if (dice_.chance(25)) {
    if (auto acts = actions(scope)) parts.push_back(Piece("enter ", {*acts}, "", ""));
  }
  if (dice_.chance(25)) {
    if (auto acts = actions(scope)) parts.push_back(Piece("leave ", {*acts}, "", ""));
  }
  if (dice_.chance(20)) {
    std::vector<Piece> tell{"tell \"Line " + std::to_string(++number_) + "\""};
    if (dice_.chance(60)) tell.push_back(Piece(" while ", {condition(scope, Edges::none, true)}, "", ""));
    parts.push_back(Piece("", std::move(tell), "", ""));
  }
  return parts;
}

Piece Maker::prop_body(PropPlan& plan, Scope scope, std::vector<Piece> parts) {
  declare(scope, plan.items, parts, false);
  scope.items.push_back(&plan.items);
  for (int n = dice_.chance(30) ? 1 : 0; n > 0; --n) {
    const bool hold = dice_.chance(35);
    std::vector<Piece> ready{Piece("ready when ", {condition(scope, Edges::none, !hold)}, "", "")};
    if (hold) ready.push_back(" for " + time(scope));
    ready.push_back(Piece(" \"Ready " + std::to_string(++number_) + "\""));
    parts.push_back(Piece("", std::move(ready), "", ""));
  }
  for (int n = dice_.chance(45) ? dice_.from(1, 2) : 0; n > 0; --n) {
    std::string states;
    if (plan.states.size() < 2 || dice_.chance(35)) {
      states = "every state";
    } else {
      const std::size_t left_out =
          static_cast<std::size_t>(dice_.from(0, static_cast<int>(plan.states.size()) - 1));
      for (std::size_t s = 0; s < plan.states.size(); ++s)
        if (s != left_out || plan.states.size() == 2) states += (states.empty() ? "" : ", ") + plan.states[s];
    }
    parts.push_back(Piece("in " + states + " {\n", body(scope, plan, true), "\n", "\n}"));
  }
  const auto start = static_cast<std::size_t>(
      dice_.chance(80) ? 0 : dice_.from(0, static_cast<int>(plan.states.size()) - 1));
  const auto goal = static_cast<std::size_t>(plan.states.size() - 1);
  const bool second_goal = plan.has_goal && plan.states.size() > 2 && dice_.chance(25);
  for (std::size_t s = 0; s < plan.states.size(); ++s) {
    std::string head = "state " + plan.states[s];
    if (s == start) head += " start";
    if (plan.has_goal && (s == goal || (second_goal && s + 2 == plan.states.size()))) head += " goal";
    parts.push_back(Piece(head + " {\n", body(scope, plan, false), "\n", "\n}"));
  }
  return Piece("", std::move(parts), "\n", "");
}

Piece Maker::prop(PropPlan& plan) {
  Piece inside = prop_body(plan, scope_of(plan), {});
  inside.head = "prop " + plan.name + " on " + controllers_[plan.controller] + " {\n";
  inside.tail = "\n}";
  return inside;
}

/// A design and a prop or two that fill its places. What is written in it sees only what it takes.
void Maker::design(PropPlan& plan, std::vector<Piece>& statements) {
  const Scope whole = scope_of(plan);
  Scope scope;
  scope.controller = plan.controller;
  scope.here = &plan;
  scope.design = true;
  scope.clips = clips_;
  scope.cues.clear();
  std::vector<Piece> takes;
  std::vector<Piece> given;
  int n = 0;
  static const std::vector<std::string> kWords{"contact", "button", "button", "reader", "keypad",
                                               "scale",   "gauge",  "signal", "lamp",   "relay",
                                               "motor",   "lock",   "voice"};
  const auto take = [&](const std::string& word, const std::string& place, const std::string& filled) {
    takes.push_back(Piece("takes " + word + " " + place));
    given.push_back(Piece(place + " " + filled));
  };
  for (const Device& device : whole.devices) {
    if (device.controller != plan.controller || !dice_.chance(70)) continue;
    Device local = device;
    local.name = "place" + std::to_string(++n);
    const std::string& word = kWords[static_cast<std::size_t>(device.kind)];
    take(word, local.name, device.name);
    scope.devices.push_back(std::move(local));
  }
  for (const Thing& thing : things_) {
    if (!dice_.chance(60)) continue;
    Thing local = thing;
    local.name = "item" + std::to_string(++n);
    take("thing", local.name, thing.name);
    for (Device& device : scope.devices)
      std::replace(device.tags.begin(), device.tags.end(), thing.name, local.name);
    scope.things.push_back(std::move(local));
  }
  for (Device& device : scope.devices)  // things that it did not take
    device.tags.erase(std::remove_if(device.tags.begin(), device.tags.end(),
                                     [](const std::string& tag) { return tag.rfind("item", 0) != 0; }),
                      device.tags.end());
  scope.times.push_back("dwell");
  takes.push_back(Piece("takes time dwell 30 ms"));
  if (dice_.chance(60)) given.push_back("dwell " + milliseconds(plan.controller, 1, 5));
  for (const PropPlan& other : plans_)
    if (&other != &plan && other.has_goal && joined(plan.controller, other.controller) && dice_.chance(40)) {
      const std::string place = "other" + std::to_string(++n);
      take("prop", place, other.name);
      scope.solvable.push_back(place);
    }
  scope.clips.clear();  // a design takes no clips
  scope.devices.erase(std::remove_if(scope.devices.begin(), scope.devices.end(),
                                     [](const Device& device) { return device.kind == Kind::voice; }),
                      scope.devices.end());
  Piece design = prop_body(plan, scope, std::move(takes));
  design.head = "design kind_of_" + plan.name + " {\n";
  design.tail = "\n}";
  statements.push_back(std::move(design));
  const std::string on = " is kind_of_" + plan.name + " on " + controllers_[plan.controller];
  statements.push_back(Piece("prop " + plan.name + on, {options(given)}, "", ""));
  if (dice_.chance(40)) {
    statements.push_back(Piece("prop " + plan.name + "_too" + on, {options(given)}, "", ""));
  }
}

}  // namespace lw::oracle

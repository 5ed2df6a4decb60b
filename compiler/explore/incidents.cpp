// See incidents.hpp.
#include "explore/incidents.hpp"

#include <algorithm>
#include <map>
#include <numeric>
#include <optional>
#include <set>
#include <stdexcept>

#include "explore/slice.hpp"
#include "runtime/block.h"

namespace lw::explore {

namespace {

std::uint32_t number_at(const std::uint8_t* bytes, std::uint8_t width) {
  std::uint32_t number = 0;
  for (std::uint8_t k = width; k != 0; --k) number = (number << 8) | bytes[k - 1];
  return number;
}

/// 4.6: whether the rule is due in this scan, whose snapshot says whether its condition holds.
bool is_due(const rows::Rule& rule, const std::uint8_t* run_before, bool holds, std::uint32_t age) {
  if (rule.kind == rows::RuleKind::age) return rule.target ? age >= rule.n : age == rule.n;
  if (!holds || rule.run_width == 0) return holds;
  // The run is 1 + scans it has been true. It stands still where nothing more depends on it, or turns in its
  // cycle.
  const std::uint32_t first = rule.n + 1;
  const std::uint32_t top = rule.target ? first : rule.a ? rule.n + rule.a : first + 1;
  const std::uint32_t run = number_at(run_before, rule.run_width);
  return (run < top ? run + 1 : rule.a ? first : run) == first;
}

/// Whether a list's action is one of those that an incident's item and nth count.
bool is_of(const rows::Action& action, rows::ActionKind kind, std::uint8_t item) {
  return action.kind == kind && action.index == item;
}

/// How many of the list's actions before this one do the same to the same drive or counter.
std::uint8_t nth_of(const rows::ActionList& list, const rows::Action& action) {
  const auto of_same = [&](const rows::Action& earlier) { return is_of(earlier, action.kind, action.index); };
  const auto at = list.begin() + (&action - list.data());
  return static_cast<std::uint8_t>(std::count_if(list.begin(), at, of_same));
}

/// What the actions of a prop do in a scan to the drives and counters that are watched, one after the other.
class Acting {
 public:
  Acting(const Part& part, const lw_table& table, std::uint8_t controller, std::uint8_t prop,
         const std::uint8_t* before, const std::uint8_t* after,
         const std::function<void(const Incident&)>& tell)
      : part_(part), table_(table), controller_(controller), prop_(prop), after_(after), tell_(tell) {
    for (const Incident& one : part.watched) {
      if (one.prop != prop || one.controller != controller) continue;
      if (one.kind == Incident::Kind::past_end) {
        counters_.emplace(one.item, before[table.arena + part.rows.counters[one.item].place]);
      } else {
        const std::uint8_t* const at = before + table.drive_block + LW_DRIVE_PART * one.item;
        if (std::any_of(drives_.begin(), drives_.end(),
                        [&](const Drive& drive) { return drive.row == one.item; }))
          continue;
        Drive drive;
        drive.row = one.item;
        // 3.2: what was its last scan is over.
        if (at[0] == LW_SOURCE_FOR && lw_get32(at + 2) > 1) drive.now = Driving{at[1], lw_get32(at + 2) - 1};
        drives_.push_back(drive);
      }
    }
  }

  void act(int list, std::uint16_t body, std::uint16_t rule) {
    if (list < 0 || !watches()) return;
    const rows::ActionList& actions = part_.rows.actions[static_cast<std::size_t>(list)];
    for (const rows::Action& action : actions) {
      Incident at;
      at.controller = controller_;
      at.prop = prop_;
      at.body = body;
      at.rule = rule;
      at.item = action.index;
      at.nth = nth_of(actions, action);
      if (action.kind == rows::ActionKind::keep) drive(action, at);
      if (action.kind == rows::ActionKind::change || action.kind == rows::ActionKind::set) count(action, at);
    }
  }
  void leave(std::uint8_t state) {
    for (const std::uint16_t b : bodies(state)) act(part_.rows.bodies[b].leave, b, Incident::kLeave);
  }
  /// 4.4: between leaving and entering all that is declared in a state is fresh.
  void clear(std::uint8_t state) {
    for (const std::uint16_t b : bodies(state))
      zero(part_.rows.bodies[b].locals, part_.rows.bodies[b].locals_size);
  }
  void enter(std::uint8_t state) {
    for (const std::uint16_t b : bodies(state)) act(part_.rows.bodies[b].enter, b, Incident::kEnter);
  }
  void wake() { zero(part_.rows.props[prop_].locals, part_.rows.props[prop_].locals_size); }

  /// All have acted: which drives were cut, and whether the runtime has come to the same.
  void close() {
    for (const Drive& drive : drives_) {
      const auto is_cut = [&](const Driving& by) {
        return by.level != drive.now->level || by.left > drive.now->left;
      };
      if (std::any_of(drive.replaced.begin(), drive.replaced.end(), is_cut))
        say(Incident::Kind::drive_cut, drive.by);
      const std::uint8_t* const at = after_ + table_.drive_block + LW_DRIVE_PART * drive.row;
      const bool same = drive.now ? at[0] == LW_SOURCE_FOR && at[1] == drive.now->level &&
                                        lw_get32(at + 2) == drive.now->left
                                  : at[0] != LW_SOURCE_FOR;
      if (!same) throw std::logic_error("a drive is not the one that was started (5.2)");
    }
    for (const auto& [counter, now] : counters_)
      if (after_[table_.arena + part_.rows.counters[counter].place] != now)
        throw std::logic_error("a count is not what its changes come to (6.7)");
  }

 private:
  struct Driving {
    std::uint8_t level = 0;
    std::uint32_t left = 0;  // scans that it still asks, this one counted
  };
  struct Drive {
    std::uint8_t row = 0;
    std::optional<Driving> now;
    std::vector<Driving> replaced;  // what ran as the scan began, and what was started in it
    Incident by;
  };

  bool watches() const { return !drives_.empty() || !counters_.empty(); }
  const std::vector<std::uint16_t>& bodies(std::uint8_t state) const {
    return part_.rows.props[prop_].states[state - 1u].bodies;
  }
  void say(Incident::Kind kind, Incident at) {
    at.kind = kind;
    if (std::find(part_.watched.begin(), part_.watched.end(), at) != part_.watched.end()) tell_(at);
  }
  void drive(const rows::Action& action, const Incident& at) {
    for (Drive& drive : drives_) {
      if (drive.row != action.index) continue;
      if (drive.now) drive.replaced.push_back(*drive.now);
      drive.now = Driving{action.level, action.n};
      drive.by = at;
    }
    say(Incident::Kind::driven, at);
  }
  void count(const rows::Action& action, const Incident& at) {
    const auto counter = counters_.find(action.index);
    if (counter == counters_.end()) return;
    if (action.kind == rows::ActionKind::set) {
      counter->second = static_cast<std::uint8_t>(action.n);
      return;
    }
    const int span = part_.rows.counters[action.index].span;
    const int to = counter->second + action.by;
    if (to < 0 || to > span) say(Incident::Kind::past_end, at);
    counter->second = static_cast<std::uint8_t>(std::clamp(to, 0, span));
  }
  void zero(std::uint16_t place, std::uint16_t size) {
    for (auto& [counter, now] : counters_) {
      const std::uint16_t at = part_.rows.counters[counter].place;
      if (at >= place && at < place + size) now = 0;
    }
  }

  const Part& part_;
  const lw_table& table_;
  std::uint8_t controller_, prop_;
  const std::uint8_t* after_;
  const std::function<void(const Incident&)>& tell_;
  std::vector<Drive> drives_;
  std::map<std::uint8_t, std::uint8_t> counters_;  // the count now, less its low end
};

/// An action as it stands in the room's rows.
struct SeatedAction {
  Incident at;
  const rows::Action* action = nullptr;
  const rows::ActionList* list = nullptr;
};

/// The list of a rule, or of entering or leaving; -1 none.
int list_of(const rows::Body& body, std::uint16_t rule) {
  return rule == Incident::kEnter   ? body.enter
         : rule == Incident::kLeave ? body.leave
                                    : body.rules[rule].actions;
}

/// All drives and changes of counters of a prop.
std::vector<SeatedAction> standing_in(const rows::Table& rows, std::uint8_t controller, std::uint8_t prop) {
  std::set<std::uint16_t> bodies;
  for (const rows::State& state : rows.props[prop].states)
    bodies.insert(state.bodies.begin(), state.bodies.end());
  std::vector<SeatedAction> found;
  for (const std::uint16_t b : bodies) {
    std::vector<std::uint16_t> places(rows.bodies[b].rules.size());
    std::iota(places.begin(), places.end(), std::uint16_t{0});
    places.insert(places.end(), {Incident::kEnter, Incident::kLeave});
    for (const std::uint16_t place : places) {
      const int number = list_of(rows.bodies[b], place);
      if (number < 0) continue;
      const rows::ActionList& list = rows.actions[static_cast<std::size_t>(number)];
      for (const rows::Action& action : list) {
        SeatedAction one;
        if (action.kind == rows::ActionKind::keep)
          one.at.kind = Incident::Kind::drive_cut;
        else if (action.kind == rows::ActionKind::change)
          one.at.kind = Incident::Kind::past_end;
        else
          continue;
        one.at.controller = controller;
        one.at.prop = prop;
        one.at.body = b;
        one.at.rule = place;
        one.at.item = action.index;
        one.at.nth = nth_of(list, action);
        one.action = &action;
        one.list = &list;
        found.push_back(one);
      }
    }
  }
  return found;
}

/// 5.2: whether the action's own list asks another lamp, relay or motor for the opposite, so that the one is
/// to go as the other comes.
bool is_swap(const model::Room& room, const ControllerTable& controller, const SeatedAction& one) {
  const rows::Table& rows = controller.rows;
  const auto is_switched = [&](std::uint8_t output) {
    const model::OutputKind kind = room.outputs[model::index(controller.outputs[output])].kind;
    return kind != model::OutputKind::lock && kind != model::OutputKind::voice;
  };
  const auto is_off = [&](const rows::Action& action) {
    return rows.levels[action.level].kind == rows::LevelKind::off;
  };
  if (!is_switched(rows.drives[one.action->index].output)) return false;
  return std::any_of(one.list->begin(), one.list->end(), [&](const rows::Action& other) {
    return other.kind == rows::ActionKind::keep && other.index != one.action->index &&
           is_switched(rows.drives[other.index].output) && is_off(other) != is_off(*one.action);
  });
}

}  // namespace

std::vector<Incident> may_happen(const model::Room& room, const RoomTables& tables, std::uint8_t controller,
                                 std::uint8_t prop) {
  const ControllerTable& table = tables.controllers[controller];
  const std::vector<SeatedAction> all = standing_in(table.rows, controller, prop);
  std::vector<Incident> found;
  for (const SeatedAction& one : all) {
    const auto matters = [&](const SeatedAction& other) {
      if (other.at.kind != one.at.kind || other.at.item != one.at.item) return false;
      if (one.at.kind == Incident::Kind::past_end) return (one.action->by < 0) != (other.action->by < 0);
      return other.action->level != one.action->level || other.action->n > one.action->n;
    };
    if (one.at.kind == Incident::Kind::drive_cut && is_swap(room, table, one)) continue;
    if (std::any_of(all.begin(), all.end(), matters)) found.push_back(one.at);
  }
  return found;
}

std::vector<Incident> keeps_of(const RoomTables& tables, std::uint8_t controller, std::uint8_t prop,
                               std::uint8_t drive) {
  std::vector<Incident> found;
  for (SeatedAction& one : standing_in(tables.controllers[controller].rows, controller, prop)) {
    if (one.at.kind != Incident::Kind::drive_cut || one.at.item != drive) continue;
    one.at.kind = Incident::Kind::driven;
    found.push_back(one.at);
  }
  return found;
}

const rows::Action& keep_at(const rows::Table& rows, const Incident& at) {
  const int list = list_of(rows.bodies[at.body], at.rule);
  std::uint8_t nth = at.nth;
  for (const rows::Action& action : rows.actions[static_cast<std::size_t>(list)])
    if (is_of(action, rows::ActionKind::keep, at.item) && nth-- == 0) return action;
  throw std::logic_error("an action that stands nowhere");
}

void find_incidents(const Part& part, const lw_table& table, std::uint8_t controller, std::uint8_t prop,
                    const std::uint8_t* before, const std::uint8_t* after, bool overridden,
                    const std::function<void(const Incident&)>& tell) {
  const rows::Prop& row = part.rows.props[prop];
  const std::uint8_t from = before[table.prop_states + prop];
  if (after[LW_AT_PHASE] == 0) return;
  Acting acting(part, table, controller, prop, before, after, tell);
  overridden = overridden && row.goal != 0 && before[table.prop_solved + prop] == 0;
  if (overridden || from == 0) {
    // What waits has no rules, and an override comes before them (4.1, 4.2).
    if (!overridden && after[table.prop_states + prop] == 0) return;
    if (from != 0) {
      acting.leave(from);
      acting.clear(from);
    } else {
      acting.wake();
    }
    const std::uint8_t to = overridden ? row.goal : row.start;
    acting.clear(to);
    acting.enter(to);
    return acting.close();
  }
  std::uint32_t age = 0;
  if (row.age != 0xFFFF) {
    age = lw_get32(before + table.arena + row.age);
    if (age < row.age_top) ++age;
  }
  Incident incident;
  incident.controller = controller;
  incident.prop = prop;
  std::uint8_t to = 0;
  int move_actions = -1;
  Incident move;
  for (const std::uint16_t b : row.states[from - 1u].bodies) {
    const rows::Body& body = part.rows.bodies[b];
    std::size_t run_at = std::size_t{table.arena} + body.runs;
    for (std::size_t r = 0; r < body.rules.size(); ++r) {
      const rows::Rule& rule = body.rules[r];
      const bool holds =
          rule.kind == rows::RuleKind::every ||
          (rule.kind != rows::RuleKind::age &&
           (lw_fact(&table, after, static_cast<std::uint16_t>(rows::fact_of(rule.condition))) != 0) !=
               rows::negated(rule.condition));
      const bool due = is_due(rule, before + run_at, holds, age);
      run_at += rule.run_width;
      if (!due) continue;
      const std::uint16_t number = part.rules[b][r];
      if (rule.target != 0 && to != 0) {
        Incident late = move;
        late.kind = Incident::Kind::two_due;
        late.other_body = b;
        late.other_rule = number;
        tell(late);
        continue;
      }
      incident.kind = Incident::Kind::taken;
      incident.body = b;
      incident.rule = number;
      tell(incident);
      if (rule.target == 0) {
        acting.act(rule.actions, b, number);
        continue;
      }
      to = rule.target;
      move = incident;
      move_actions = rule.actions;
    }
  }
  if (after[table.prop_states + prop] != (to != 0 ? to : from))
    throw std::logic_error("a rule that moved was not the one that was due (4.3)");
  if (to != 0) {
    acting.leave(from);
    acting.act(move_actions, move.body, move.rule);
    acting.clear(from);
    acting.clear(to);
    acting.enter(to);
  }
  acting.close();
}

void find_odds(const Part& part, const lw_table& table, std::uint8_t controller, const std::uint8_t* after,
               const std::function<void(const Incident&)>& tell) {
  for (std::size_t n = 0; n < part.outputs.size(); ++n) {
    if (!part.outputs[n] || after[table.output_asks + LW_ASK_PART * n + 2] == 0) continue;
    Incident incident;
    incident.kind = Incident::Kind::at_odds;
    incident.controller = controller;
    incident.prop = static_cast<std::uint8_t>(n);
    tell(incident);
  }
}

Witness::Witness(const RoomTables& tables, const std::vector<Incident>& watched)
    : controller_(watched.front().controller), prop_(watched.front().prop) {
  auto part = std::make_shared<Part>();
  part->rows = tables.controllers[controller_].rows;
  for (const rows::Body& body : part->rows.bodies) {
    part->rules.emplace_back(body.rules.size());
    std::iota(part->rules.back().begin(), part->rules.back().end(), std::uint16_t{0});
  }
  part->watched = watched;
  part_ = std::move(part);
}

const std::vector<Incident>& Witness::look(const RoomRun& run) {
  happened_.clear();
  const std::vector<std::uint8_t>& scanned = run.scanned();
  if (std::find(scanned.begin(), scanned.end(), controller_) == scanned.end()) return happened_;
  const lw_table& table = run.table(controller_);
  const std::uint8_t* const after = run.block(controller_);
  before_.resize(lw_block_size(&table));
  if (run.fresh(controller_)) lw_power_up(&table, before_.data());
  // After a reset, also one that was heard, every prop waits.
  if (after[table.prop_states + prop_] != 0)
    find_incidents(
        *part_, table, controller_, prop_, before_.data(), after, run.overridden(controller_, prop_),
        [&](const Incident& incident) {
          if (std::find(part_->watched.begin(), part_->watched.end(), incident) != part_->watched.end())
            happened_.push_back(incident);
        });
  before_.assign(after, after + before_.size());
  return happened_;
}

}  // namespace lw::explore

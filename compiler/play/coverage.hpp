// Which states and lines of a room its rehearsals have exercised, and how often.
//
// What is counted is what happened to rows of the tables that ship, over all controllers; it is told as the
// text that they were made from. A state belongs to its prop, also of a design; a line of a design is one
// line, however many props are made of it, so that four equal props do not say everything four times.
// Rejected: counting a `keep` by whether its output showed it: another may outrank it, and then two lines are
// one. Tests: tests/unit/play/coverage_test.cpp, tests/cases/rehearse/coverage-*.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "play/firings.hpp"
#include "play/room_run.hpp"
#include "text/source.hpp"

namespace lw {

struct Covered {
  enum class Kind : std::uint8_t {
    state,  // times entered
    rule,   // `when`, `after`: times that it acted or moved
    keep,   // times that it began to ask for its level
    leave,  // times that its actions acted
    tell,   // times that its words came up
    ready,  // times that it was seen unmet while the session was idle and all inputs were known
    wakes,  // a prop that the chain wakes: times that it did
  };
  Kind kind{};
  Span span;
  std::vector<std::string>
      of;  // the prop, or "bomb in calm, tense"; of a line of a design each that it stands in
  std::vector<std::size_t> stands_in;  // of what stands in braces of states: the items of those states
  std::uint64_t times = 0;
};

class Coverage {
 public:
  Coverage(const model::Room& room, const RoomTables& tables);

  /// A run begins: nothing asks, nothing is told.
  void begin();
  /// After each scan of the run: what its props did, and what is asked and told now.
  void count(const RoomRun& run, const std::vector<PropStep>& steps);
  /// The items that it counted then.
  const std::vector<std::size_t>& last() const { return last_; }
  /// Counts what was counted elsewhere once more.
  void add(std::size_t item) { ++items_[item].times; }
  /// All that was counted by another of the same room.
  void add(const Coverage& other) {
    for (std::size_t n = 0; n < items_.size(); ++n) items_[n].times += other.items_[n].times;
  }

  /// All of the room, by where they are written.
  const std::vector<Covered>& items() const { return items_; }

  /// Whether the state was entered, and whether the rule acted or moved; of a design, in any of its props.
  bool was_entered(std::uint8_t controller, std::uint8_t prop, std::uint8_t state) const {
    return items_[controllers_[controller].states[prop][state - 1u].item].times != 0;
  }
  bool was_taken(RuleSeat rule) const {
    return items_[controllers_[rule.controller].bodies[rule.body].rules[rule.rule].item].times != 0;
  }
  /// The place of a rule among all items.
  std::size_t item_of(RuleSeat rule) const {
    return controllers_[rule.controller].bodies[rule.body].rules[rule.rule].item;
  }

  struct Totals {
    std::size_t states = 0, rules = 0, lines = 0;  // lines: neither states nor rules
    std::size_t sum() const { return states + rules + lines; }
  };
  Totals all() const { return totals(false); }
  Totals exercised() const { return totals(true); }

 private:
  struct Row {  // of a table: its item, and whether it asks or shows now
    std::size_t item = 0;
    bool on = false;
  };
  struct Body {
    std::vector<Row> rules, keeps;
    std::vector<Row> leave;  // one, or none
  };
  struct Controller {
    std::vector<Body> bodies;
    std::vector<std::vector<Row>> states;  // by prop
    std::vector<std::vector<Row>> wakes;   // by prop: one, or none
    std::vector<Row> tells, readies;
  };
  using Key = std::pair<std::pair<std::size_t, std::size_t>, std::pair<Covered::Kind, std::string>>;

  Row row(Covered::Kind kind, Span span, const std::string& of, const std::vector<std::size_t>& states = {});
  void add_prop(const model::Prop& prop, const Symbols& symbols, Controller& to);
  void sort();
  Totals totals(bool only_exercised) const;
  void look(const RoomRun& run, std::size_t controller);
  void once(const Row& row) {
    ++items_[row.item].times;
    last_.push_back(row.item);
  }
  void now(Row& row, bool on) {
    if (on && !row.on) once(row);
    row.on = on;
  }

  std::vector<Controller> controllers_;
  std::vector<Covered> items_;
  std::vector<std::size_t> last_;
  std::map<Key, std::size_t> known_;
};

}  // namespace lw

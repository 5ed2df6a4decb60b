// What happens on the way to a set, and what a hand alone can do: the rules that read a scale, and how soon
// they answer.
//
// Placing and taking off one thing at a time go through the same parts, forwards and backwards, so one count
// of orders serves both; two things placed at once may leap over a part, and never add one. A part counts as
// shown within a window where its things' tolerances let it be. A rule answers
// once its part has lain still for the scale's settle time and then for its `for` (docs/meaning.md 2.1, 4.6).
// Tests: tests/unit/weigh/room_test.cpp, tests/cases/weighing.
#pragma once

#include <optional>
#include <vector>

#include "weigh/room.hpp"

namespace lw::weigh {

/// A rule of a prop, where it stands.
struct RuleAt {
  model::PropId prop{};
  std::size_t body = 0, rule = 0;
};
const model::Rule& rule_at(const model::Room& room, const RuleAt& at);

/// The rules that a window's being true can make due: those whose condition asks for it, but not under a
/// `not`.
std::vector<RuleAt> rules_of(const model::Room& room, const Place& place);

/// Whether loads alone can make the condition true, whatever else is not so: all that it asks for can be had
/// from scales.
bool by_hand_alone(const model::Cond& cond);

/// How long a load must lie still before the rule answers: the longest settle time of the scales that it
/// reads, and its `for`.
std::int64_t answer_ms(const model::Room& room, const model::Rule& rule);

/// Orders of placing a set, a thing at a time, things alike not told apart.
struct Orders {
  Count all = 0;
  Count through = 0;   // in which some part of it, neither nothing nor the whole, may be shown in the window
  Parts first;         // one such part, the fewest things; empty: none
  bool leapt = false;  // placed by ones and twos, some way keeps out of the window
};
/// Nothing: too many parts to go through.
std::optional<Orders> orders_through(const WeighedRoom& weighed, const Parts& set, const Place& place);

/// A rule that moves elsewhere while the intended set is being placed, or taken off again.
struct Passing {
  bool taking_off = false;
  const Place* intended = nullptr;
  const Place* passed = nullptr;
  RuleAt rule;  // of `passed`
  Orders orders;
  std::int64_t answer_ms = 0;
};
/// Those whose rule stands in a state in which a rule of the intended window waits too, and leads to another
/// state; and of taking off, those in a state that such a rule leads to and in which a rule waits for the
/// bare pan, and leads to another state.
std::vector<Passing> passings(const WeighedRoom& weighed);

}  // namespace lw::weigh

// Rules: conditions that nothing can make true, and moves that an earlier one always takes first.
//
// Both are said only where they were worked out over all that the devices can be (situations.hpp), or where
// the texts of two conditions tell it alone. Tests: tests/cases/reach, tests/cases/behaviour.
#include <fmt/format.h>

#include <algorithm>

#include "check/check.hpp"
#include "check/situations.hpp"

namespace lw {
namespace {

bool same(const model::Cond& a, const model::Cond& b) {
  if (a.kind != b.kind || a.count != b.count || a.parts.size() != b.parts.size()) return false;
  if (a.kind == model::CondKind::fact && !(a.fact == b.fact)) return false;
  for (std::size_t n = 0; n < a.parts.size(); ++n)
    if (!same(a.parts[n], b.parts[n])) return false;
  return true;
}

/// Whether the texts alone tell that `later` being true makes `earlier` true: the same, or the same with
/// further facts joined by `and`.
bool says_more(const model::Cond& later, const model::Cond& earlier) {
  if (same(later, earlier)) return true;
  if (later.kind == model::CondKind::all)
    for (const model::Cond& part : later.parts)
      if (says_more(part, earlier)) return true;
  if (earlier.kind == model::CondKind::any)
    for (const model::Cond& part : earlier.parts)
      if (says_more(later, part)) return true;
  if (earlier.kind == model::CondKind::all)
    return std::all_of(earlier.parts.begin(), earlier.parts.end(),
                       [&](const model::Cond& part) { return says_more(later, part); });
  return false;
}

struct Move {
  const model::Rule* rule;
  const model::Body* body;
};

class Rules {
 public:
  Rules(const Subject& subject, Findings& findings)
      : sources_(subject.sources), room_(subject.room), situations_(subject.room), findings_(findings) {}

  void all() {
    for (std::size_t n = 0; n < room_.props.size(); ++n) conditions(static_cast<model::PropId>(n));
    if (room_.starts == model::SessionStart::when) can_hold(room_.start_condition, nullptr, nullptr);
    for (const model::Prop& prop : room_.props) shadowed(prop);
  }

 private:
  const SourceSet& sources_;
  const model::Room& room_;
  Situations situations_;
  Findings& findings_;
  std::vector<const model::Cond*> impossible_;

  bool names_empty_window(const model::Cond& cond) const {
    bool found = false;
    model::each_fact(cond, [&](const model::Fact& fact, Span) {
      found = found || (fact.kind == model::FactKind::in_window &&
                        room_.props[model::index(fact.prop)].windows[model::index(fact.window)].is_empty);
    });
    return found;
  }

  /// Which parts of it exclude each other: as few as do.
  std::string apart(const model::Cond& cond) {
    if (cond.kind != model::CondKind::all) return "What it asks for is never so";
    model::Cond fewer = cond;
    for (std::size_t n = fewer.parts.size(); n-- > 0 && fewer.parts.size() > 1;) {
      model::Cond without = fewer;
      without.parts.erase(without.parts.begin() + static_cast<std::ptrdiff_t>(n));
      if (!situations_.can_be(without).value_or(true)) fewer = std::move(without);
    }
    std::string text;
    for (std::size_t n = 0; n < fewer.parts.size(); ++n) {
      if (n > 0) text += n + 1 == fewer.parts.size() ? " and " : ", ";
      text += fmt::format("`{}`", sources_.text(fewer.parts[n].span));
    }
    return text + (fewer.parts.size() == 1 ? " is never so" : " are never so");
  }

  /// Reports a condition that cannot be true. One fact alone can be, unless its window is narrower than a
  /// division, which is a finding of its own.
  void can_hold(const model::Cond& cond, const Situations::Within* within, const model::Prop* prop) {
    if (cond.kind == model::CondKind::always || names_empty_window(cond)) return;
    if (situations_.can_be(cond, {}, within).value_or(true)) return;
    impossible_.push_back(&cond);
    Finding finding = finding_of(Code::never_true, cond.span, "this condition can never be true");
    const bool ever = within == nullptr || situations_.can_be(cond).value_or(true);
    finding.reason = ever && within != nullptr
                         ? "It asks for a state that the prop is not in while this rule is looked at."
                         : apart(cond) + " at one time.";
    finding.remedies.push_back(ever && within != nullptr
                                   ? "write the rule into the state that is meant, or take this part out."
                                   : "write `or` if one of them is enough, or take out what is not meant.");
    if (prop != nullptr && prop->filled_at)
      finding.places.push_back(lw::Place{*prop->filled_at, "the design is used here", false});
    findings_.push_back(std::move(finding));
  }

  void conditions(model::PropId id) {
    const model::Prop& prop = room_.props[model::index(id)];
    for (const model::Sequence& sequence : prop.sequences) {
      if (sequence.each) can_hold(*sequence.each, nullptr, &prop);
      for (const model::Step& step : sequence.steps) can_hold(step.condition, nullptr, &prop);
    }
    for (const model::Ready& ready : prop.readies) can_hold(ready.condition, nullptr, &prop);
    if (prop.wakes) can_hold(*prop.wakes, nullptr, &prop);
    for (const model::Body& body : prop.bodies) {
      const Situations::Within within{id, body.states};
      for (const model::Rule& rule : body.rules) can_hold(rule.condition, &within, &prop);
      for (const model::Keep& keep : body.keeps)
        if (keep.while_) can_hold(*keep.while_, nullptr, &prop);
      for (const model::Tell& tell : body.tells)
        if (tell.while_) can_hold(*tell.while_, nullptr, &prop);
    }
  }

  bool is_impossible(const model::Cond& cond) const {
    return std::find(impossible_.begin(), impossible_.end(), &cond) != impossible_.end();
  }

  /// Whether the counts let `earlier` be due whenever `later` is, if its condition holds whenever the other's
  /// does. A rule of an `in` block goes on counting across a move between two states that the block names
  /// (4.4).
  static bool no_later(const Move& earlier, const Move& later) {
    const bool goes_on = later.body->shared && later.body->states.size() > 1 && later.body != earlier.body;
    if (earlier.rule->after)
      return earlier.rule->hold_ms <= later.rule->hold_ms && (later.rule->after || !goes_on);
    if (later.rule->after || earlier.rule->hold_ms > later.rule->hold_ms) return false;
    return earlier.rule->hold_ms == 0 || !goes_on;
  }

  /// The moves that stand before it and, alone or together, are due whenever it is; none where that is not
  /// so.
  std::vector<Move> before(const std::vector<Move>& moves, std::size_t at, const Situations::Within& within) {
    const Move& later = moves[at];
    std::vector<Move> together;
    std::vector<const model::Cond*> conditions;
    for (std::size_t n = 0; n < at; ++n) {
      const Move& earlier = moves[n];
      if (!no_later(earlier, later)) continue;
      if (earlier.rule->after || says_more(later.rule->condition, earlier.rule->condition)) return {earlier};
      if (is_impossible(earlier.rule->condition)) continue;
      if (!situations_.can_be(later.rule->condition, {&earlier.rule->condition}, &within).value_or(true))
        return {earlier};
      // Together they are due when each is due at once: one with a `for` may not have held long enough.
      if (earlier.rule->hold_ms != 0) continue;
      together.push_back(earlier);
      conditions.push_back(&earlier.rule->condition);
    }
    if (later.rule->after || together.size() < 2) return {};
    if (situations_.can_be(later.rule->condition, conditions, &within).value_or(true)) return {};
    for (std::size_t n = together.size(); n-- > 0 && together.size() > 1;) {  // only those that it takes
      std::vector<const model::Cond*> fewer = conditions;
      fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(n));
      if (situations_.can_be(later.rule->condition, fewer, &within).value_or(true)) continue;
      conditions = std::move(fewer);
      together.erase(together.begin() + static_cast<std::ptrdiff_t>(n));
    }
    return together;
  }

  /// Moves that moves before them always take first, in every state that they stand in.
  void shadowed(const model::Prop& prop) {
    struct Seen {
      const model::Rule* rule;
      std::size_t states = 0, shadowed = 0;
      std::string state;
      std::vector<Move> by;
    };
    std::vector<Seen> seen;
    const auto id = static_cast<model::PropId>(&prop - room_.props.data());
    for (std::size_t s = 0; s < prop.states.size(); ++s) {
      const Situations::Within within{id, {static_cast<model::StateId>(s)}};
      std::vector<Move> moves;
      for (const model::BodyId body : prop.states[s].bodies)
        for (const model::Rule& rule : prop.bodies[model::index(body)].rules)
          if (rule.target) moves.push_back({&rule, &prop.bodies[model::index(body)]});
      for (std::size_t at = 0; at < moves.size(); ++at) {
        const model::Rule* const rule = moves[at].rule;
        if (is_impossible(rule->condition) || names_empty_window(rule->condition)) continue;
        auto of =
            std::find_if(seen.begin(), seen.end(), [rule](const Seen& one) { return one.rule == rule; });
        if (of == seen.end()) of = seen.insert(seen.end(), {rule, 0, 0, prop.states[s].name, {}});
        ++of->states;
        const std::vector<Move> by = before(moves, at, within);
        if (by.empty()) continue;
        if (++of->shadowed == 1) of->by = by;
      }
    }
    for (const Seen& one : seen)
      if (one.shadowed == one.states && one.shadowed > 0) report(prop, *one.rule, one.state, one.by);
  }

  void report(const model::Prop& prop, const model::Rule& rule, const std::string& state,
              const std::vector<Move>& by) {
    const bool alone = by.size() == 1;
    Finding finding = finding_of(Code::shadowed_rule, rule.span,
                                 alone ? "a rule that an earlier one always takes first"
                                       : "a rule that earlier ones always take first");
    for (const Move& move : by) finding.places.push_back(lw::Place{move.rule->span, "comes first", false});
    finding.reason =
        fmt::format("In state `{}` whenever this rule is due {} due too, and the first due move is taken.",
                    state, alone ? "the earlier one is" : "one of these is");
    finding.remedies.push_back("write the rule with the narrower condition first, or take this one out.");
    if (prop.filled_at)
      finding.places.push_back(lw::Place{*prop.filled_at, "the design is used here", false});
    std::sort(finding.places.begin(), finding.places.end(), [](const lw::Place& a, const lw::Place& b) {
      return std::make_pair(a.span.file, a.span.begin) < std::make_pair(b.span.file, b.span.begin);
    });
    findings_.push_back(std::move(finding));
  }
};

}  // namespace

void check_rules(const Subject& subject, Findings& findings) { Rules(subject, findings).all(); }

}  // namespace lw

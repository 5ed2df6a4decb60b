// See way_out.hpp.
#include "explore/way_out.hpp"

#include <algorithm>
#include <optional>
#include <utility>

#include "explore/measures.hpp"
#include "explore/slice.hpp"

namespace lw {

using rows::FactKind;

namespace {

using Sure = std::function<Truth(const rows::RawFact&)>;

Truth turned(Truth truth) {
  return truth == Truth::maybe ? truth : truth == Truth::yes ? Truth::no : Truth::yes;
}
Truth of(bool truth) { return truth ? Truth::yes : Truth::no; }

/// A lock's hold as its controller's rows have it.
class Holding {
 public:
  Holding(const rows::Table& rows, std::uint8_t lock) : rows_(rows), lock_(lock) {}

  bool secures(std::uint8_t level) const { return rows_.levels[level].kind != rows::LevelKind::off; }
  bool secures(const rows::Keep& keep) const { return keep.output == lock_ && secures(keep.level); }
  bool secures(const rows::Action& action) const {
    return action.kind == rows::ActionKind::keep && rows_.drives[action.index].output == lock_ &&
           secures(action.level);
  }
  bool secures(int list) const {
    return list >= 0 && std::any_of(rows_.actions[static_cast<std::size_t>(list)].begin(),
                                    rows_.actions[static_cast<std::size_t>(list)].end(),
                                    [&](const rows::Action& action) { return secures(action); });
  }
  /// Whether it can be held for a time by itself.
  bool driven() const { return longest_drive() != 0; }
  /// Whether it can be so, or be asked to be released for a time.
  bool has_drives() const {
    return std::any_of(rows_.drives.begin(), rows_.drives.end(),
                       [&](const rows::Drive& drive) { return drive.output == lock_; });
  }
  std::uint32_t longest_drive() const {
    std::uint32_t longest = 0;
    for (const rows::ActionList& list : rows_.actions)
      for (const rows::Action& action : list)
        if (secures(action)) longest = std::max(longest, action.n);
    for (const rows::Tail& tail : rows_.tails)
      if (rows_.drives[tail.drive].output == lock_ && secures(tail.level))
        longest = std::max(longest, tail.length);
    return longest;
  }
  template <class Visit>
  void each_body(const rows::State& state, Visit&& visit) const {
    for (const std::uint16_t body : state.bodies) visit(rows_.bodies[body]);
  }
  /// Whether a prop in that state can hold the lock by a keep.
  bool may_hold(const rows::State& state, const Sure& known) const {
    bool may = false;
    each_body(state, [&](const rows::Body& body) {
      for (const rows::Keep& keep : body.keeps)
        may = may || (secures(keep) && (!keep.has_while || truth(rows_, keep.while_, known) != Truth::no));
    });
    return may;
  }
  /// The same, or by an action there: what it drives may be driven anew before its time is over.
  bool may_hold_or_drive(const rows::State& state, const Sure& known) const {
    bool may = may_hold(state, known);
    each_body(state, [&](const rows::Body& body) {
      may = may || secures(body.enter) || secures(body.leave);
      for (const rows::Rule& rule : body.rules)
        may = may || (secures(rule.actions) && may_be_due(rule, known));
    });
    return may;
  }
  /// Where no move makes a difference to the hold: what is asked for it in each state of each prop, to be
  /// secured or released, is the same, and those literals are all that there is. Nothing where moves matter.
  std::optional<std::vector<rows::Literal>> asked_in_every_state() const {
    if (has_drives()) return std::nullopt;
    std::vector<rows::Literal> found;
    for (const rows::Prop& prop : rows_.props) {
      std::optional<std::vector<std::pair<rows::Literal, bool>>> first;  // the first that holds wins
      for (const rows::State& state : prop.states) {
        std::vector<std::pair<rows::Literal, bool>> here;
        each_body(state, [&](const rows::Body& body) {
          for (const rows::Keep& keep : body.keeps)
            if (keep.output == lock_)
              here.emplace_back(keep.has_while ? keep.while_ : rows::kTrue, secures(keep.level));
        });
        if (first && *first != here) return std::nullopt;
        first = std::move(here);
      }
      if (!first) continue;
      for (const auto& one : *first) found.push_back(one.first);
    }
    return found;
  }
  /// What a prop in that state may ask of the lock by its keeps, of which the first that holds wins.
  struct Asked {
    bool secured = false, released = false, nothing = false;
  };
  Asked asked(const rows::State& state, const Sure& known) const {
    Asked found;
    Truth before = Truth::no;  // whether one before asks
    each_body(state, [&](const rows::Body& body) {
      for (const rows::Keep& keep : body.keeps) {
        if (keep.output != lock_ || before == Truth::yes) continue;
        const Truth asks = keep.has_while ? truth(rows_, keep.while_, known) : Truth::yes;
        if (asks == Truth::no) continue;
        (secures(keep.level) ? found.secured : found.released) = true;
        before = asks;
      }
    });
    found.nothing = before != Truth::yes;
    return found;
  }
  bool may_be_due(const rows::Rule& rule, const Sure& known) const {
    return rule.kind != rows::RuleKind::level || truth(rows_, rule.condition, known) != Truth::no;
  }
  /// By state, whether a prop in it holds the lock no more, wherever else it may move.
  std::vector<bool> free_for_good(const rows::Prop& prop, const Sure& known) const {
    std::vector<bool> free;
    for (const rows::State& state : prop.states) free.push_back(!may_hold_or_drive(state, known));
    for (bool more = true; more;) {
      more = false;
      for (std::size_t s = 0; s < free.size(); ++s)
        each_body(prop.states[s], [&](const rows::Body& body) {
          for (const rows::Rule& rule : body.rules)
            if (free[s] && rule.target != 0 && !free[rule.target - 1u] && may_be_due(rule, known)) {
              free[s] = false;
              more = true;
            }
        });
    }
    return free;
  }
  /// Whether a condition that surely holds moves a prop away from a state, to where it is free for good, and
  /// nothing moves it elsewhere before.
  bool is_left(const rows::State& state, const std::vector<bool>& free, const Sure& known) const {
    bool left = false, ends = false, elsewhere = false;  // `ends`: no later rule moves it
    each_body(state, [&](const rows::Body& body) {
      for (const rows::Rule& rule : body.rules) {
        if (rule.target == 0 || ends || !may_be_due(rule, known)) continue;
        if (!free[rule.target - 1u]) {
          elsewhere = true;
        } else if (rule.kind == rows::RuleKind::level && truth(rows_, rule.condition, known) == Truth::yes) {
          left = true;
          ends = rule.run_width == 0;
        }
      }
    });
    return left && !elsewhere;
  }
  bool moves_on(const rows::State& state) const {
    bool moves = false;
    each_body(state, [&](const rows::Body& body) {
      for (const rows::Rule& rule : body.rules) moves = moves || rule.target != 0;
    });
    return moves;
  }

 private:
  const rows::Table& rows_;
  std::uint8_t lock_;
};

/// Of what the other controller says, or of its silence.
bool speaks_of(const rows::RawFact& fact, std::uint8_t peer) {
  return (fact.kind == FactKind::peer_says || fact.kind == FactKind::peer_lost) && fact.a == peer;
}

template <class Speaks>
bool reads(const rows::Table& rows, rows::Literal literal, const Speaks& speaks) {
  std::uint32_t fact = rows::fact_of(literal);
  if (fact == 0) return false;
  std::size_t n = fact - 1;
  if (n < rows.facts.size()) return speaks(rows.facts[n]);
  n -= rows.facts.size();
  for (const rows::Sequence& sequence : rows.sequences) {
    if (n < sequence.facts.size())
      return std::any_of(sequence.conditions.begin(), sequence.conditions.end(),
                         [&](rows::Literal one) { return reads(rows, one, speaks); });
    n -= sequence.facts.size();
  }
  return std::any_of(rows.derived[n].literals.begin(), rows.derived[n].literals.end(),
                     [&](rows::Literal one) { return reads(rows, one, speaks); });
}

/// Once a controller has been lost: nothing that it says of its inputs holds, all else is as last heard.
Sure lost(const rows::Table& rows, std::uint8_t peer) {
  return [&rows, peer](const rows::RawFact& fact) {
    if (fact.kind == FactKind::peer_lost && fact.a == peer) return Truth::yes;
    if (fact.kind == FactKind::peer_says && fact.a == peer && fact.b < rows.link.peers[peer].input_bits)
      return Truth::no;
    return Truth::maybe;
  };
}

}  // namespace

Truth truth(const rows::Table& rows, rows::Literal literal, const Sure& known,
            const std::function<Truth(const rows::Sequence&, const rows::SequenceFact&)>& said) {
  const std::uint32_t fact = rows::fact_of(literal);
  Truth found = Truth::maybe;
  std::size_t sequence_facts = 0;
  for (const rows::Sequence& sequence : rows.sequences) {
    const std::size_t first = 1 + rows.facts.size() + sequence_facts;
    if (said && fact >= first && fact < first + sequence.facts.size())
      found = said(sequence, sequence.facts[fact - first]);
    sequence_facts += sequence.facts.size();
  }
  if (fact == 0) {
    found = Truth::yes;
  } else if (fact <= rows.facts.size()) {
    found = known(rows.facts[fact - 1]);
  } else if (fact > rows.facts.size() + sequence_facts) {
    const rows::DerivedFact& row = rows.derived[fact - 1 - rows.facts.size() - sequence_facts];
    std::size_t surely = 0, may = 0;
    for (const rows::Literal part : row.literals) {
      const Truth one = truth(rows, part, known, said);
      surely += one == Truth::yes;
      may += one != Truth::no;
    }
    found = surely >= row.least ? Truth::yes : may < row.least ? Truth::no : Truth::maybe;
  }
  return rows::negated(literal) ? turned(found) : found;
}

LetsGo lets_go(const RoomTables& tables, Seat lock) {
  const rows::Table& rows = tables.controllers[lock.controller].rows;
  const Holding holding(rows, lock.row);
  LetsGo found;
  // 8.1, 9.4: at rest in that scan, and idle until a session starts, which is somebody's act unless it starts
  // by itself.
  found.reset = tables.controllers[0].rows.session.starts != rows::StartKind::itself;
  if (holding.driven()) return found;
  // 7.2: ended until reset; no prop stops.
  const Sure ended = [](const rows::RawFact& fact) {
    return fact.kind == FactKind::session_in ? of(fact.a <= 2 && 2 <= fact.b) : Truth::maybe;
  };
  found.end = true;
  for (const rows::Prop& prop : rows.props)
    for (const rows::State& state : prop.states) found.end = found.end && !holding.may_hold(state, ended);
  // 4.1, 4.5: all props with a goal solved until reset; those that were not, in their first goal state.
  const Sure solved = [&](const rows::RawFact& fact) {
    return fact.kind == FactKind::prop_solved && rows.props[fact.a].goal != 0 ? Truth::yes : Truth::maybe;
  };
  found.override_ = true;
  for (const rows::Prop& prop : rows.props) {
    bool rests = prop.goal != 0, all = true;
    for (const rows::State& state : prop.states) {
      const bool may = holding.may_hold(state, solved);
      all = all && !may;
      if (state.goal) rests = rests && !may && !holding.moves_on(state);
    }
    found.override_ = found.override_ && (all || rests);
  }
  return found;
}

std::vector<std::uint8_t> held_by(const model::Room& room, const RoomTables& tables, Seat lock) {
  const rows::Table& rows = tables.controllers[lock.controller].rows;
  const Holding holding(rows, lock.row);
  std::vector<Question> questions{powered(lock)};
  if (const auto asked = holding.asked_in_every_state()) {
    questions.clear();
    for (const rows::Literal literal : *asked) {
      Ask ask;
      ask.kind = Ask::Kind::scan_fact;
      ask.controller = lock.controller;
      ask.a = rows::fact_of(literal);
      questions.push_back({std::move(ask)});
    }
  }
  const explore::Slice slice = explore::says_in(room, tables, questions);
  std::vector<std::uint8_t> found;
  for (std::size_t p = 0; p < rows.link.peers.size(); ++p) {
    const auto peer = static_cast<std::uint8_t>(p);
    const Sure when_lost = lost(rows, peer);
    const auto of_peer = [peer](const rows::RawFact& fact) { return speaks_of(fact, peer); };
    bool held = false, read = false;
    for (const rows::Prop& prop : rows.props) {
      const std::vector<bool> free = holding.free_for_good(prop, when_lost);
      for (const rows::State& state : prop.states) {
        held = held || (holding.may_hold_or_drive(state, when_lost) && !holding.is_left(state, free, when_lost));
        holding.each_body(state, [&](const rows::Body& body) {
          for (const rows::Rule& rule : body.rules)
            read = read || (holding.secures(rule.actions) && reads(rows, rule.condition, of_peer));
        });
      }
    }
    const explore::Part& own = slice.parts[lock.controller];
    const explore::Part& other = slice.parts[rows.link.peers[p].controller];
    const bool says = read || std::any_of(own.facts.begin(), own.facts.end(), of_peer) ||
                      std::find(other.props.begin(), other.props.end(), true) != other.props.end() ||
                      std::find(other.inputs.begin(), other.inputs.end(), true) != other.inputs.end();
    if (held && says) found.push_back(peer);
  }
  return found;
}

bool hangs_on(const RoomTables& tables, Seat lock, std::uint8_t peer,
              const std::function<bool(const rows::RawFact&)>& holds,
              const std::function<std::uint8_t(std::size_t prop)>& state) {
  const rows::Table& rows = tables.controllers[lock.controller].rows;
  const Holding holding(rows, lock.row);
  // States to which another word of the lost one could bring props, one after the other; that of one which
  // waits stays.
  std::vector<std::vector<bool>> may_be(rows.props.size());
  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    may_be[p].resize(rows.props[p].states.size() + 1);
    may_be[p][state(p)] = true;
  }
  const auto moves = [&](std::size_t prop) {
    return std::count(may_be[prop].begin(), may_be[prop].end(), true) > 1;
  };
  const auto speaks = [&](const rows::RawFact& fact) {
    return speaks_of(fact, peer) ||
           ((fact.kind == FactKind::prop_in || fact.kind == FactKind::prop_solved) && moves(fact.a));
  };
  const Sure otherwise = [&](const rows::RawFact& fact) {
    return speaks(fact) ? Truth::maybe : of(holds(fact));
  };
  const Sure as_is = [&](const rows::RawFact& fact) { return of(holds(fact)); };
  for (bool more = true; more;) {
    more = false;
    for (std::size_t p = 0; p < rows.props.size(); ++p)
      for (std::size_t s = 1; s < may_be[p].size(); ++s) {
        if (!may_be[p][s]) continue;
        holding.each_body(rows.props[p].states[s - 1], [&](const rows::Body& body) {
          for (const rows::Rule& rule : body.rules)
            if (rule.target != 0 && !may_be[p][rule.target] && reads(rows, rule.condition, speaks) &&
                truth(rows, rule.condition, otherwise) != Truth::no)
              may_be[p][rule.target] = more = true;
        });
      }
  }
  bool holds_it = false, firm = false, may_release = false;
  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    if (state(p) == 0) continue;
    const Holding::Asked now = holding.asked(rows.props[p].states[state(p) - 1u], as_is);
    bool always = true;
    for (std::size_t s = 1; s < may_be[p].size(); ++s) {
      if (!may_be[p][s]) continue;
      const Holding::Asked then = holding.asked(rows.props[p].states[s - 1], otherwise);
      always = always && !then.nothing;
      // Props at odds release it.
      may_release = may_release || then.released;
    }
    holds_it = holds_it || now.secured;
    firm = firm || (now.secured && always);
  }
  return holds_it && (may_release || !firm);
}

bool can_be_held(const RoomTables& tables, Seat lock) {
  const rows::Table& rows = tables.controllers[lock.controller].rows;
  const Holding holding(rows, lock.row);
  const Sure anything = [](const rows::RawFact&) { return Truth::maybe; };
  bool can = holding.driven();
  for (const rows::Prop& prop : rows.props)
    for (const rows::State& state : prop.states) can = can || holding.may_hold(state, anything);
  return can;
}

std::int64_t longest_drive_ms(const RoomTables& tables, Seat lock) {
  const rows::Table& rows = tables.controllers[lock.controller].rows;
  return std::int64_t{Holding(rows, lock.row).longest_drive()} * rows.scan_ms;
}

}  // namespace lw

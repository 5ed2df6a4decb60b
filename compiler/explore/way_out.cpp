// See way_out.hpp.
#include "explore/way_out.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include "explore/measures.hpp"
#include "explore/slice.hpp"
#include "runtime/block.h"

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
  bool drives(const rows::Action& action) const {
    return action.kind == rows::ActionKind::keep && rows_.drives[action.index].output == lock_;
  }
  bool drives(int list) const {
    return any_action(list, [&](const rows::Action& action) { return drives(action); });
  }
  bool secures(const rows::Action& action) const { return drives(action) && secures(action.level); }
  bool secures(int list) const {
    return any_action(list, [&](const rows::Action& action) { return secures(action); });
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
  /// Whether a prop ever asks anything of the lock.
  bool has_a_say(const rows::Prop& prop) const {
    bool says = false;
    for (const rows::State& state : prop.states)
      each_body(state, [&](const rows::Body& body) {
        says = says || drives(body.enter) || drives(body.leave);
        for (const rows::Keep& keep : body.keeps) says = says || keep.output == lock_;
        for (const rows::Rule& rule : body.rules) says = says || drives(rule.actions);
      });
    return says;
  }
  /// Whether a prop in that state can hold the lock by a keep.
  bool may_hold(const rows::State& state, const Sure& known) const { return asks(state, known).may_hold; }
  /// Whether some prop surely asks for the lock to be released whatever its state: then it is, whatever
  /// others ask by keeps.
  bool surely_released(const Sure& known) const {
    if (driven()) return false;
    return std::any_of(rows_.props.begin(), rows_.props.end(), [&](const rows::Prop& prop) {
      return prop.wakes == rows::kTrue &&  // else it may wait
             std::all_of(prop.states.begin(), prop.states.end(),
                         [&](const rows::State& state) { return asks(state, known).releases; });
    });
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
  struct Asks {
    bool may_hold = false, releases = false;
  };
  /// By keeps, of which the first that asks wins.
  Asks asks(const rows::State& state, const Sure& known) const {
    Asks found;
    each_body(state, [&](const rows::Body& body) {
      for (const rows::Keep& keep : body.keeps) {
        // What is outranked asks all the same, and may drive the lock once it no longer does (5.3).
        if (keep.output != lock_ || (found.releases && keep.tail < 0)) continue;
        const Truth asked = keep.has_while ? truth(rows_, keep.while_, known) : Truth::yes;
        if (secures(keep))
          found.may_hold = found.may_hold || asked != Truth::no;
        else
          found.releases = found.releases || asked == Truth::yes;
      }
    });
    found.releases = found.releases && !found.may_hold;
    return found;
  }
  bool moves_on(const rows::State& state) const {
    bool moves = false;
    each_body(state, [&](const rows::Body& body) {
      for (const rows::Rule& rule : body.rules) moves = moves || rule.target != 0;
    });
    return moves;
  }

 private:
  template <class Is>
  bool any_action(int list, Is&& is) const {
    if (list < 0) return false;
    const rows::ActionList& actions = rows_.actions[static_cast<std::size_t>(list)];
    return std::any_of(actions.begin(), actions.end(), is);
  }

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
  found.end = found.end || holding.surely_released(ended);
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
  found.override_ = found.override_ || holding.surely_released(solved);
  return found;
}

std::vector<HeldBy> held_by(const model::Room& room, const RoomTables& tables, Seat lock) {
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
  std::vector<HeldBy> found;
  for (std::size_t p = 0; p < rows.link.peers.size(); ++p) {
    const auto peer = static_cast<std::uint8_t>(p);
    const Sure when_lost = lost(rows, peer);
    const auto of_peer = [peer](const rows::RawFact& fact) { return speaks_of(fact, peer); };
    bool held = false, read = false;
    for (const rows::Prop& prop : rows.props) {
      const std::vector<bool> free = holding.free_for_good(prop, when_lost);
      for (const rows::State& state : prop.states) {
        held =
            held || (holding.may_hold_or_drive(state, when_lost) && !holding.is_left(state, free, when_lost));
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
    if (!held || !says || holding.surely_released(when_lost)) continue;
    std::set<std::uint8_t> bits;
    for (const rows::RawFact& fact : own.facts)
      if (fact.kind == FactKind::peer_says && fact.a == peer) bits.insert(static_cast<std::uint8_t>(fact.b));
    found.push_back({peer, {bits.begin(), bits.end()}});
  }
  return found;
}

namespace {

/// A controller that goes on by itself, while another says the same in every scan.
class Told {
 public:
  Told(const RoomRun& run, Seat lock, std::uint8_t peer)
      : table_(run.table(lock.controller)), lock_(lock), peer_(&table_) {
    block_.assign(run.block(lock.controller), run.block(lock.controller) + lw_block_size(&table_));
    for (std::size_t n = 0; n < table_.inputs; ++n) raws_.push_back(run.raw(lock.controller, n));
    for (int n = 0; n <= peer; ++n) peer_.next();
    const rows::Table& rows = run.tables().controllers[lock.controller].rows;
    const Holding holding(rows, lock.row);
    for (const rows::Prop& prop : rows.props) has_a_say_.push_back(holding.has_a_say(prop));
    lw_peers last(&table_);
    for (int n = 0; n < table_.peers; ++n) last.next();
    peers_end_ = std::size_t{last.part} + LW_PEER_PART + last.bytes();
  }
  void say(std::uint8_t bit, bool value) { lw_put_bit(&block_[peer_.part + LW_PEER_PART], bit, value); }
  bool says(std::uint8_t bit) const { return lw_bit(&block_[peer_.part + LW_PEER_PART], bit); }
  /// One scan, in which that controller is heard or lost. False where it woke a prop that has a say in the
  /// lock, or moved the session: that is the game's course.
  bool scan(bool is_lost) {
    const std::vector<std::uint8_t> before = block_;
    std::uint8_t* const block = block_.data();
    std::uint8_t* const part = block + peer_.part;
    lw_condition(&table_, block, raws_.data(), 1);
    // No silence counts: the other controllers stay as they are.
    std::copy(&before[table_.peer_block], before.data() + peers_end_, block + table_.peer_block);
    part[0] = static_cast<std::uint8_t>((part[0] & ~LW_STATUS) | (is_lost ? LW_LOST : LW_GOOD));
    lw_put16(part + 1, is_lost ? peer_.lost_after : std::uint16_t{0});
    for (std::uint8_t bit = 0; bit < peer_.input_bits && is_lost; ++bit)
      lw_put_bit(part + LW_PEER_PART, bit, false);  // 9.3
    lw_step(&table_, block, nullptr);
    bool same = block[LW_AT_PHASE] == before[LW_AT_PHASE];
    for (std::size_t p = 0; p < table_.props; ++p)
      same = same &&
             (!has_a_say_[p] || before[table_.prop_states + p] != 0 || block[table_.prop_states + p] == 0);
    return same;
  }
  bool secured() const { return lw_output(&table_, block_.data(), lock_.row) != 0; }

 private:
  const lw_table& table_;
  Seat lock_;
  lw_peers peer_;
  std::size_t peers_end_ = 0;  // in the block
  std::vector<std::uint8_t> block_;
  std::vector<lw_raw> raws_;
  std::vector<bool> has_a_say_;  // by prop
};

}  // namespace

bool another_word_lets_go(const RoomRun& run, Seat lock, const HeldBy& held, std::int64_t wait_ms) {
  constexpr std::size_t kAllWords = 6, kMostBits = 24;
  const std::int64_t scans = wait_ms / run.table(lock.controller).scan_ms;
  const Told now(run, lock, held.peer);
  const auto tried = [&](Told told, bool is_lost) {
    bool secured = false;
    for (std::int64_t n = 0; n < 2 * scans; ++n) {
      if (!told.scan(is_lost)) return false;
      secured = secured || (n >= scans && told.secured());
      if (secured) return false;
    }
    return true;
  };
  const auto lets_go = [&](const std::vector<std::size_t>& turned) {
    Told told = now;
    for (const std::size_t n : turned) told.say(held.bits[n], !now.says(held.bits[n]));
    return tried(told, true) || tried(told, false);
  };
  const std::size_t count = std::min(held.bits.size(), kMostBits);
  if (count <= kAllWords) {
    for (std::size_t word = 0; word < std::size_t{1} << count; ++word) {
      std::vector<std::size_t> turned;
      for (std::size_t n = 0; n < count; ++n)
        if (word >> n & 1) turned.push_back(n);
      if (lets_go(turned)) return true;
    }
    return false;
  }
  // Of more, what differs in two bits, as where one state gives way to another.
  for (std::size_t first = 0; first < count; ++first)
    for (std::size_t second = first; second < count; ++second)
      if (lets_go(first == second ? std::vector<std::size_t>{first}
                                  : std::vector<std::size_t>{first, second}))
        return true;
  return lets_go({});
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

// See layers.hpp.
#include "explore/layers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "explore/ways.hpp"

namespace lw::explore {

namespace {

using rows::FactKind;
using PropSeat = std::pair<std::uint8_t, std::uint8_t>;  // controller, prop

/// A question as questions that must all be answered yes.
std::vector<Question> parts_of(const Question& question) {
  std::vector<std::vector<Question>> stack;
  for (const Ask& ask : question) {
    switch (ask.kind) {
      case Ask::Kind::not_: {
        stack.back() = {opposite(all_of(stack.back()))};
        break;
      }
      case Ask::Kind::at_least:
      case Ask::Kind::exactly: {
        const auto first = stack.end() - static_cast<std::ptrdiff_t>(ask.b);
        std::vector<Question> parts;
        if (ask.kind == Ask::Kind::at_least && ask.a == ask.b) {
          for (auto part = first; part != stack.end(); ++part)
            parts.insert(parts.end(), part->begin(), part->end());
        } else {
          Question whole;
          for (auto part = first; part != stack.end(); ++part) {
            const Question one = all_of(*part);
            whole.insert(whole.end(), one.begin(), one.end());
          }
          whole.push_back(ask);
          parts.push_back(std::move(whole));
        }
        stack.erase(first, stack.end());
        stack.push_back(std::move(parts));
        break;
      }
      default:
        stack.push_back({Question{ask}});
    }
  }
  return stack.back();
}

/// Solved props, which stay so: whoever has brought it about may turn to something else.
bool stays(const std::vector<Question>& demands) {
  return std::all_of(demands.begin(), demands.end(), [](const Question& demand) {
    return demand.size() == 1 && demand[0].kind == Ask::Kind::fact &&
           demand[0].fact.kind == FactKind::prop_solved;
  });
}

class Layers {
 public:
  Layers(const model::Room& room, const RoomTables& tables, Freedoms freedoms, const Budget& budget,
         const Goal& goal)
      : room_(room), tables_(tables), freedoms_(freedoms), budget_(budget), goal_(goal) {}

  bool prove() {
    const std::vector<Question> parts = parts_of(goal_.question);
    for (const Question& part : parts)
      if (!demand(part)) return false;
    // The last of all need not hold what it comes to.
    last_ = parts.size() == 1 ? units_.size() - 1 : units_.size();
    // Those that are read come first in `units_`; what they must hold is known once all their readers are
    // done.
    for (std::size_t n = units_.size(); n-- != 0;)
      if (!bring_on(n)) return false;
    return !inputs_at_odds();
  }
  std::uint64_t states = 0;
  std::size_t props = 0;

 private:
  struct Unit {
    Props props;
    Props reads;
    std::vector<Question> demands;
    std::set<model::InputId> inputs;
    bool holds = false;  // its inputs must stay as they are
  };

  const rows::Table& rows(std::size_t c) const { return tables_.controllers[c].rows; }

  static Props props_of(const Slice& slice) {
    Props props;
    for (std::size_t c = 0; c < slice.parts.size(); ++c)
      for (std::size_t p = 0; p < slice.parts[c].props.size(); ++p)
        if (slice.parts[c].props[p])
          props.emplace(static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p));
    return props;
  }

  /// What a question can depend on in the props that it asks for; all else that they read is free.
  Slice part_of(const Question& question, Props& reads) const {
    Slice slice = slice_of(room_, tables_, {question}, {}, freedoms_, {}, reads);
    if (!goal_.session_ends) slice.let_sessions_go_on();
    return slice;
  }

  /// The only controller that a slice looks at; nothing where it is more than one, or something of the slice
  /// stands for more than the props in it can answer for. Whether a session has ended only the controller
  /// that keeps it is asked.
  std::optional<std::size_t> alone(const Slice& slice) const {
    std::optional<std::size_t> found;
    for (std::size_t c = 0; c < slice.parts.size(); ++c) {
      const Part& part = slice.parts[c];
      if (!part.present) continue;
      if (found || (part.phase_ended && c != 0)) return std::nullopt;
      found = c;
      for (const rows::RawFact& fact : part.facts)
        if (fact.kind == FactKind::peer_lost || fact.kind == FactKind::peer_stirs) return std::nullopt;
    }
    return found;
  }

  /// The unit that answers for a question; made with all that it reads when it is new.
  bool demand(Question question) {
    for (Ask& ask : question) {
      if (ask.kind == Ask::Kind::scan_fact) return false;
      if (ask.kind != Ask::Kind::fact || ask.fact.kind != FactKind::peer_says) continue;
      // What is held is heard before long.
      const std::size_t peer = rows(ask.controller).link.peers[ask.fact.a].controller;
      ask.fact = rows(peer).link.bits[ask.fact.b];
      ask.controller = static_cast<std::uint8_t>(peer);
    }
    Props frontier;
    const Slice slice = part_of(question, frontier);
    const Props props = props_of(slice);
    if (props.empty() || !alone(slice)) return false;
    for (Unit& unit : units_)
      if (unit.props == props) {
        unit.demands.push_back(std::move(question));
        return true;
      }
    for (const PropSeat& seat : props)
      if (!in_a_unit_.insert(seat).second) return false;  // of another unit, or they read each other
    for (const PropSeat& seat : frontier)
      if (!visit(seat)) return false;
    Unit unit;
    unit.props = props;
    unit.reads = frontier;
    unit.demands.push_back(std::move(question));
    units_.push_back(std::move(unit));
    return true;
  }

  /// Makes the unit of a prop that is read, without a demand.
  bool visit(const PropSeat& seat) {
    rows::RawFact fact;
    fact.kind = FactKind::prop_solved;
    fact.a = seat.second;
    if (!demand(fact_holds(seat.first, fact))) return false;
    std::find_if(units_.begin(), units_.end(), [&](const Unit& unit) {
      return unit.props.count(seat);
    })->demands.pop_back();
    return true;
  }

  /// What the unit must hold can be reached from everywhere while those that it reads hold what it needs of
  /// them; that is asked of them in turn.
  bool bring_on(std::size_t which) {
    Unit& unit = units_[which];
    if (unit.demands.empty()) return true;
    const std::vector<Question> questions{all_of(unit.demands)};
    Props frontier;
    Slice slice = part_of(questions[0], frontier);
    const std::optional<std::size_t> c = alone(slice);
    if (!c || props_of(slice) != unit.props) return false;
    for (const PropSeat& seat : frontier)
      if (unit.reads.count(seat) == 0) return false;
    const Part& part = slice.parts[*c];
    for (const rows::RawFact& fact : part.facts) slice.keeps_losses |= fact.kind == FactKind::input_lost;
    for (std::size_t n = 0; n < part.inputs.size(); ++n)
      if (part.inputs[n]) unit.inputs.insert(tables_.controllers[*c].inputs[n]);
    props += unit.props.size();
    unit.holds = which != last_ && !stays(unit.demands);

    // The states in which it can be left, and more: inputs keep nothing, and the session ends when it likes.
    Slice loose = slice;
    loose.loose = true;
    Space space(loose, questions, nullptr, false);
    if (!space.all_can_rest()) return false;
    space.limit(budget_);
    const auto done_in = [&unit, c](const Space& in) {
      return [&unit, c, &in](const Location& location, const Outcome& outcome) {
        return (outcome.answers & 1) && (!unit.holds || is_held(location, outcome, in.sources(*c)));
      };
    };
    const auto done = done_in(space);
    Search search(space, budget_.states);
    std::optional<std::pair<std::uint32_t, std::uint32_t>> goal;
    const Search::End end =
        search.run(search.start_of(space.powered_up()), {}, [&](std::uint32_t node, std::uint32_t k) {
          const Location& location = space.at(search.nodes()[node].location);
          const Outcome& outcome = location.outcomes[k];
          if (!goal && !outcome.resets && !outcome.loses && done(location, outcome)) goal.emplace(node, k);
          return false;
        });
    states += search.stored();
    if (end != Search::End::complete || space.overflowed() || !goal) return false;

    // On a way on what is read holds, and a session ends by its length alone.
    slice.freedoms.operator_ = slice.freedoms.override_ = false;
    slice.let_nothing_fail();
    slice.ends_by_length = true;
    Slice kindly = slice;
    kindly.freedoms.losses = false;
    kindly.at_leisure = true;
    Space pinned(slice, questions, nullptr, false);
    Space held(kindly, questions, nullptr, true);
    const std::vector<Source>& sources = pinned.sources(*c);
    const std::vector<int> pins = needs(space, search, *goal, sources);
    for (std::size_t n = 0; n < sources.size(); ++n)
      if (pins[n] >= 0 && !demand_of(*c, part, sources[n], static_cast<std::size_t>(pins[n]))) return false;
    for (Space* const one : {&pinned, &held}) {
      one->pin(pins);
      one->limit(budget_);
    }
    Ways ways(pinned, held, nullptr, budget_.states, done_in(pinned));
    for (const Node& node : search.nodes()) {
      if (node.covered) continue;
      const Location& location = space.at(node.location);
      // While idle all wait, and a start leads to states that are looked at too.
      if (space.phase(location.state, *c) == 0) continue;
      const LocationId id = pinned.location(location.state, location.clocks, location.intervals);
      if (ways.lead_on(id, node.zone) != Ways::Result::all) return false;
    }
    states += ways.states();
    return true;
  }

  /// Whether nothing changes any more while all inputs are left as they are in this scan.
  static bool is_held(const Location& location, const Outcome& outcome, const std::vector<Source>& sources) {
    if (!outcome.stays || !location.clocks.empty() || outcome.resets) return false;
    for (std::size_t n = 0; n < sources.size(); ++n) {
      const std::uint8_t k = outcome.pick.choices[n];
      if (k == kUnknown) return false;
      if (k == kUnread || sources[n].peer >= 0 || sources[n].prop >= 0) continue;
      const Choice& choice = sources[n].choices[k];
      if (choice.moving || choice.pressed || choice.lost || !choice.keys.empty()) return false;
    }
    return std::all_of(outcome.pick.commands.begin(), outcome.pick.commands.end(),
                       [](std::uint8_t command) { return command == 0; });
  }

  /// What each source that is no device has to be: as on the way to the goal that was found, and solved where
  /// it can be. -1: a device.
  static std::vector<int> needs(const Space& space, const Search& search,
                                const std::pair<std::uint32_t, std::uint32_t>& goal,
                                const std::vector<Source>& sources) {
    std::vector<const Outcome*> way;
    const std::vector<std::uint32_t> nodes = search.way_to(goal.first);
    for (std::size_t n = 1; n < nodes.size(); ++n)
      way.push_back(
          &space.at(search.nodes()[nodes[n - 1]].location).outcomes[search.nodes()[nodes[n]].outcome]);
    way.push_back(&space.at(search.nodes()[goal.first].location).outcomes[goal.second]);
    std::vector<int> pins(sources.size(), -1);  // no other controller has any
    for (std::size_t n = 0; n < sources.size(); ++n) {
      const Source& source = sources[n];
      if (source.peer < 0 && source.prop < 0) continue;
      int& pin = pins[n];
      pin = 0;
      for (const Outcome* const outcome : way) {
        const std::uint8_t choice = outcome->pick.choices[n];
        if (choice < source.choices.size()) pin = choice;
      }
      const auto solved = [&](const Choice& choice) {
        return source.prop >= 0 ? choice.pressed : choice.value != 0;
      };
      if (source.stays && !solved(source.choices[static_cast<std::size_t>(pin)]))
        pin = static_cast<int>(std::find_if(source.choices.begin(), source.choices.end(), solved) -
                               source.choices.begin());
      if (pin == static_cast<int>(source.choices.size())) pin = 0;
    }
    return pins;
  }

  /// Asks of whoever a source stands for that it hold the choice.
  bool demand_of(std::size_t c, const Part& part, const Source& source, std::size_t choice) {
    if (source.prop >= 0) {
      const Choice& held = source.choices[choice];
      for (const rows::RawFact& fact : part.facts) {
        if (static_cast<int>(fact.a) != source.prop) continue;
        if (fact.kind == FactKind::prop_in &&
            !demand_held(c, fact, held.value >= fact.b && held.value <= fact.c))
          return false;
        if (fact.kind == FactKind::prop_solved && !demand_held(c, fact, held.pressed)) return false;
      }
      return true;
    }
    const std::size_t peer = rows(c).link.peers[static_cast<std::size_t>(source.peer)].controller;
    const rows::RawFact& bit = rows(peer).link.bits[source.bit];
    const bool holds = source.choices[choice].value != 0;
    if (bit.kind > FactKind::input_stirs) return demand_held(peer, bit, holds);
    if (bit.kind != FactKind::input_in) return false;
    held_inputs_[tables_.controllers[peer].inputs[bit.a]].emplace_back(bit, holds);
    return true;
  }
  bool demand_held(std::size_t c, const rows::RawFact& fact, bool holds) {
    const std::size_t before = units_.size();
    const Question question = holds ? fact_holds(c, fact) : opposite(fact_holds(c, fact));
    for (const Unit& unit : units_)
      for (const Question& known : unit.demands)
        if (same(known, question)) return true;
    // No new unit comes of it: those that are read are all known.
    return demand(question) && units_.size() == before;
  }
  static bool same(const Question& a, const Question& b) {
    return a.size() == b.size() && a[0].kind == b[0].kind && a[0].controller == b[0].controller &&
           a[0].fact.kind == b[0].fact.kind && a[0].fact.a == b[0].fact.a && a[0].fact.b == b[0].fact.b &&
           a[0].fact.c == b[0].fact.c && a.size() <= 2;
  }

  /// Whether an input must be left as it is by one unit, and not by another.
  bool inputs_at_odds() const {
    for (const Unit& unit : units_) {
      for (const model::InputId input : unit.inputs) {
        if (held_inputs_.count(input)) return true;
        for (const Unit& other : units_)
          if (&other != &unit && (unit.holds || other.holds) && other.inputs.count(input)) return true;
      }
    }
    for (const auto& [input, facts] : held_inputs_) {
      bool found = false;
      const Seat seat = tables_.inputs[model::index(input)].front();
      const unsigned top = top_value(rows(seat.controller), rows(seat.controller).inputs[seat.row]);
      for (std::uint32_t value = 0; value <= top && !found; ++value)
        found = std::all_of(facts.begin(), facts.end(), [value = value](const auto& fact) {
          return (value >= fact.first.b && value <= fact.first.c) == fact.second;
        });
      if (!found) return true;
    }
    return false;
  }

  const model::Room& room_;
  const RoomTables& tables_;
  Freedoms freedoms_;
  const Budget& budget_;
  const Goal& goal_;
  std::vector<Unit> units_;  // what is read before what reads it
  Props in_a_unit_;
  std::size_t last_ = 0;
  std::map<model::InputId, std::vector<std::pair<rows::RawFact, bool>>> held_inputs_;
};

}  // namespace

std::optional<Explored> reach_by_layers(const model::Room& room, const RoomTables& tables, Freedoms freedoms,
                                        const Budget& budget, const Goal& goal) {
  Layers layers(room, tables, freedoms, budget, goal);
  if (!layers.prove()) return std::nullopt;
  Explored result;
  result.answer = Answer::proved;
  result.states = layers.states;
  result.bound = fmt::format("{} states of {} prop{}, one after the other", layers.states, layers.props,
                             layers.props == 1 ? "" : "s");
  return result;
}

}  // namespace lw::explore

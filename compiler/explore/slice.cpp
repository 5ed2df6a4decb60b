// See slice.hpp.
#include "explore/slice.hpp"

#include <algorithm>
#include <iterator>
#include <numeric>

#include "explore/space_bytes.hpp"
#include "runtime/table.h"

namespace lw::explore {

using rows::ActionKind;
using rows::FactKind;

namespace {

/// What becomes of the conditions under which props wake.
enum class Chain : std::uint8_t {
  followed,  // of props that are in
  kept,      // of those that are free too
  left_out,  // of none, nor what finishes the session
};

/// Follows influence backwards until nothing new is found.
class Cone {
 public:
  /// `members` null: everything that matters is in. `parted`: on each controller by itself.
  Cone(const model::Room& room, const RoomTables& tables, const Props* members, Chain chain, bool parted)
      : room_(room), tables_(tables), limited_(members != nullptr), parted_(parted), chain_(chain) {
    if (members) members_ = *members;
    for (const ControllerTable& controller : tables.controllers) {
      const rows::Table& rows = controller.rows;
      Part part;
      part.inputs.resize(rows.inputs.size());
      part.props.resize(rows.props.size());
      part.free_props.resize(rows.props.size());
      part.chained.resize(rows.props.size());
      part.not_before_ms.resize(rows.props.size());
      part.outputs.resize(rows.outputs.size());
      part.drives.resize(rows.drives.size());
      part.timers.resize(rows.timers.size());
      part.counters.resize(rows.counters.size());
      part.sequences.resize(rows.sequences.size());
      facts_.emplace_back(fact_count(rows));
      bits_.emplace_back(rows.link.bits.size());
      parts.push_back(std::move(part));
    }
  }

  std::vector<Part> parts;
  bool follow_inputs = false;  // over links too

  const rows::Table& rows(std::size_t c) const { return tables_.controllers[c].rows; }
  static std::size_t fact_count(const rows::Table& rows) {
    std::size_t count = 1 + rows.facts.size() + rows.derived.size();
    for (const rows::Sequence& sequence : rows.sequences) count += sequence.facts.size();
    return count;
  }

  void want(std::size_t c, const rows::RawFact& fact) {
    Part& part = parts[c];
    part.present = true;
    switch (fact.kind) {
      case FactKind::input_in:
      case FactKind::input_lost:
      case FactKind::input_moving:
      case FactKind::input_edge:
      case FactKind::input_enters:
      case FactKind::input_stirs:
        part.inputs[fact.a] = true;
        break;
      case FactKind::prop_in:
      case FactKind::prop_solved:
        read_prop(c, fact.a);
        break;
      case FactKind::counter_in:
        want_counter(c, fact.a);
        break;
      case FactKind::timer_from:
        want_timer(c, fact.a);
        break;
      case FactKind::session_in:
        want_phase(c);
        if (!(fact.a <= 1 && fact.b >= 2) && !(fact.a == 0 && fact.b == 0)) want_end(c);
        break;
      case FactKind::session_from:
        want_phase(c);
        want_end(c);  // its time stands still once it has ended
        break;
      case FactKind::output_is:
        want_output(c, fact.a);
        break;
      case FactKind::peer_lost:
      case FactKind::peer_stirs:
        break;
      case FactKind::peer_says: {
        const std::size_t peer = rows(c).link.peers[fact.a].controller;
        const bool input = fact.b < rows(c).link.peers[fact.a].input_bits && (parted_ || !follow_inputs);
        if (input || is_free(peer, rows(peer).link.bits[fact.b])) {
          const rows::Peer& row = rows(c).link.peers[fact.a];
          FarInput far;
          far.peer = static_cast<std::uint8_t>(fact.a);
          far.bit = static_cast<std::uint8_t>(fact.b);
          far.stays = static_cast<int>(fact.b) >= row.input_bits + row.state_bits;
          far.controller = row.controller;
          far.says = rows(row.controller).link.bits[fact.b];
          if (std::find(part.far.begin(), part.far.end(), far) == part.far.end()) part.far.push_back(far);
          break;
        }
        want_bit(peer, fact.b);
        break;
      }
      case FactKind::sequence_in:
        want_sequence(c, fact.a);
        break;
    }
  }

  void want(std::size_t c, rows::Literal literal) { want_fact(c, rows::fact_of(literal)); }
  /// What a prop that is asked for reads is not asked for itself.
  void read(std::size_t c, rows::Literal literal) {
    if (forcing_ && limited_)
      read_.emplace_back(c, literal);
    else
      want(c, literal);
  }

  void want_fact(std::size_t c, std::uint32_t fact) {
    parts[c].present = true;
    if (facts_[c][fact]) return;
    facts_[c][fact] = true;
    if (fact == 0) return;
    const rows::Table& table = rows(c);
    std::size_t n = fact - 1;
    if (n < table.facts.size()) return want(c, table.facts[n]);
    n -= table.facts.size();
    for (std::size_t s = 0; s < table.sequences.size(); ++s) {
      if (n < table.sequences[s].facts.size()) return want_sequence(c, s);
      n -= table.sequences[s].facts.size();
    }
    for (const rows::Literal literal : table.derived[n].literals) want(c, literal);
  }

  void want_phase(std::size_t c) {
    parts[c].present = true;
    // Of every controller: no prop wakes before the session starts.
    want(c, rows(c).session.condition);
    want(c, rows(c).session.hush);
    if (c != 0 && (limited_ || parted_)) {
      parts[c].free_session = true;
      exact_ = false;
      return;
    }
    if (c != 0 && !phase_of_first_) {
      phase_of_first_ = true;
      want_phase(0);
    }
  }
  /// Whether the session has ended: by its length, by the operator, or by all that finishes it (7.2), which
  /// the first controller knows.
  void want_end(std::size_t c) {
    want_phase(c);
    parts[c].phase_ended = true;
    if (limited_) exact_ = false;
    if (parted_ && c != 0) return;  // others end it when they like
    if (ends_ || limited_ || chain_ == Chain::left_out) return;
    ends_ = true;
    want_end(0);
    for (const rows::Finish& finish : rows(0).session.finish) {
      rows::RawFact fact;
      fact.kind = finish.where == 0 ? FactKind::prop_solved : FactKind::peer_says;
      fact.a = finish.where == 0 ? finish.which : finish.where - 1u;
      fact.b = finish.where == 0 ? 0 : finish.which;
      want(0, fact);
    }
  }

  /// A prop whose state somebody reads.
  void read_prop(std::size_t c, std::size_t p) {
    if (!limited_ || forcing_ || members_.count({static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p)}))
      return want_prop(c, p);
    if (parts[c].props[p]) return;
    if (parts[c].free_props[p]) return;
    parts[c].present = true;
    parts[c].free_props[p] = true;
    frontier_.emplace(static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p));
    exact_ = false;
    want_phase(c);
    if (chain_ != Chain::kept) return;
    parts[c].chained[p] = true;
    want(c, rows(c).props[p].wakes);
  }
  /// Whether what another controller tells is left free.
  bool is_free(std::size_t peer, const rows::RawFact& bit) {
    if (!parted_ && (!limited_ || forcing_)) return false;
    std::size_t owner = SIZE_MAX;
    if (bit.kind == FactKind::prop_in || bit.kind == FactKind::prop_solved) owner = bit.a;
    if (bit.kind == FactKind::timer_from) owner = owner_of(peer, rows(peer).timers[bit.a].place);
    if (bit.kind == FactKind::counter_in) owner = owner_of(peer, rows(peer).counters[bit.a].place);
    if (bit.kind == FactKind::sequence_in) owner = owner_of(peer, rows(peer).sequences[bit.a].place);
    const auto seat = std::make_pair(static_cast<std::uint8_t>(peer), static_cast<std::uint8_t>(owner));
    if (owner != SIZE_MAX && !parted_ && (members_.count(seat) || parts[peer].props[owner])) return false;
    if (owner != SIZE_MAX) frontier_.insert(seat);
    exact_ = false;
    return true;
  }
  std::size_t owner_of(std::size_t c, std::uint16_t place) {
    std::size_t owner = SIZE_MAX;
    const auto in = [place](std::uint16_t at, std::uint16_t size) {
      return place >= at && place < at + size;
    };
    for (std::size_t p = 0; p < rows(c).props.size(); ++p) {
      const rows::Prop& prop = rows(c).props[p];
      if (in(prop.locals, prop.locals_size)) owner = p;
      each_body(prop, [&](const rows::Body& body) {
        if (in(body.locals, body.locals_size)) owner = p;
      });
    }
    return owner;
  }
  /// What the questions ask for is in; from now on only members are.
  void asked() {
    forcing_ = false;
    for (const auto& [c, literal] : read_) want(c, literal);
    while (!waiting_.empty()) {
      const auto [c, p] = waiting_.back();
      waiting_.pop_back();
      look_into(c, p);
    }
  }
  /// Where the controller that keeps the session is looked at anyway, nobody's session is free: it starts
  /// when it is heard to have started. Where several others are, it is looked at too: theirs start together.
  void hear_sessions() {
    if (parted_) return;
    const auto present =
        std::count_if(parts.begin(), parts.end(), [](const Part& part) { return part.present; });
    if (!parts[0].present && present < 2) return;
    want_phase(0);
    for (Part& part : parts) part.free_session = false;
  }
  bool ends() const { return ends_; }
  const Props& frontier() const { return frontier_; }
  bool exact() const { return exact_; }

  void want_prop(std::size_t c, std::size_t p) {
    if (parts[c].props[p]) return;
    parts[c].free_props[p] = parts[c].chained[p] = false;
    frontier_.erase({static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p)});
    parts[c].props[p] = true;
    if (forcing_ && limited_)
      waiting_.emplace_back(c, p);
    else
      look_into(c, p);
  }
  void look_into(std::size_t c, std::size_t p) {
    parts[c].props[p] = true;
    want_phase(c);
    const rows::Prop& prop = rows(c).props[p];
    if (chain_ != Chain::left_out) want(c, prop.wakes);
    each_body(prop, [&](const rows::Body& body) {
      for (const rows::Rule& rule : rows(c).bodies[&body - rows(c).bodies.data()].rules)
        if (rule.target || whole(c, p)) want(c, rule.condition);
    });
    // Who acts on a prop's own timers and counters is found by those.
  }

  /// Everything the prop does, wanted or not.
  void want_all_of(std::size_t c, std::size_t p) {
    whole_.emplace_back(c, p);
    // One that was found before was looked into without the rules that only act.
    if (parts[c].props[p] && !limited_) look_into(c, p);
    want_prop(c, p);
    for (const Incident& one :
         may_happen(room_, tables_, static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p))) {
      parts[c].watched.push_back(one);
      if (one.kind == Incident::Kind::past_end)
        want_counter(c, one.item);
      else
        parts[c].drives[one.item] = true;  // whoever else asks the output makes no difference to it
    }
  }
  bool whole(std::size_t c, std::size_t p) const {
    return std::find(whole_.begin(), whole_.end(), std::make_pair(c, p)) != whole_.end();
  }

  template <class Wanted>
  void want_actors(std::size_t c, Wanted&& wanted) {
    for (std::size_t p = 0; p < rows(c).props.size(); ++p)
      each_body(rows(c).props[p], [&](const rows::Body& body) {
        const auto acts = [&](int list) {
          return list >= 0 && std::any_of(rows(c).actions[static_cast<std::size_t>(list)].begin(),
                                          rows(c).actions[static_cast<std::size_t>(list)].end(), wanted);
        };
        if (acts(body.enter) || acts(body.leave)) want_prop(c, p);
        for (const rows::Rule& rule : body.rules)
          if (acts(rule.actions)) {
            want_prop(c, p);
            read(c, rule.condition);
          }
      });
  }

  void want_timer(std::size_t c, std::size_t n) {
    if (parts[c].timers[n]) return;
    parts[c].timers[n] = true;
    want_owner(c, rows(c).timers[n].place);
    want_actors(c, [n](const rows::Action& action) {
      return (action.kind == ActionKind::start || action.kind == ActionKind::stop) && action.index == n;
    });
  }
  void want_counter(std::size_t c, std::size_t n) {
    if (parts[c].counters[n]) return;
    parts[c].counters[n] = true;
    want_owner(c, rows(c).counters[n].place);
    want_actors(c, [n](const rows::Action& action) {
      return (action.kind == ActionKind::change || action.kind == ActionKind::set) && action.index == n;
    });
  }
  void want_sequence(std::size_t c, std::size_t n) {
    if (parts[c].sequences[n]) return;
    parts[c].sequences[n] = true;
    const rows::Sequence& sequence = rows(c).sequences[n];
    want_owner(c, sequence.place);
    want_phase(c);
    for (const rows::Literal literal : {sequence.listens, sequence.hush, sequence.each}) read(c, literal);
    for (const rows::Literal literal : sequence.conditions) read(c, literal);
  }
  /// A prop that makes the place in the arena fresh when it moves or wakes.
  void want_owner(std::size_t c, std::uint16_t place) {
    const auto in = [place](std::uint16_t at, std::uint16_t size) {
      return place >= at && place < at + size;
    };
    for (std::size_t p = 0; p < rows(c).props.size(); ++p) {
      const rows::Prop& prop = rows(c).props[p];
      if (in(prop.locals, prop.locals_size)) want_prop(c, p);
      each_body(prop, [&](const rows::Body& body) {
        if (in(body.locals, body.locals_size)) want_prop(c, p);
      });
    }
  }

  void want_output(std::size_t c, std::size_t n) {
    if (parts[c].outputs[n]) return;
    parts[c].outputs[n] = true;
    for (std::size_t d = 0; d < rows(c).drives.size(); ++d)
      if (rows(c).drives[d].output == n) parts[c].drives[d] = true;
    for (std::size_t p = 0; p < rows(c).props.size(); ++p)
      each_body(rows(c).props[p], [&](const rows::Body& body) {
        for (const rows::Keep& keep : body.keeps)
          if (keep.output == n) {
            want_prop(c, p);
            read(c, keep.while_);
          }
      });
    want_actors(c, [&](const rows::Action& action) { return acts_on_output(c, action, n); });
  }
  bool acts_on_output(std::size_t c, const rows::Action& action, std::size_t n) const {
    if (action.kind == ActionKind::keep) return rows(c).drives[action.index].output == n;
    return (action.kind == ActionKind::play || action.kind == ActionKind::quiet) && action.index == n;
  }

  void want_bit(std::size_t c, std::size_t bit) {
    if (bits_[c][bit]) return;
    bits_[c][bit] = true;
    want(c, rows(c).link.bits[bit]);
  }

  bool bit(std::size_t c, std::size_t n) const { return bits_[c][n]; }
  bool fact(std::size_t c, std::size_t n) const { return facts_[c][n]; }

  template <class Visit>
  void each_body(const rows::Prop& prop, Visit&& visit) {
    // The rows lie in one controller; its bodies are found by address.
    for (std::size_t c = 0; c < tables_.controllers.size(); ++c) {
      const auto& props = rows(c).props;
      if (&prop < props.data() || &prop >= props.data() + props.size()) continue;
      for (const rows::State& state : prop.states)
        for (const std::uint16_t body : state.bodies) visit(rows(c).bodies[body]);
    }
  }

 private:
  const model::Room& room_;
  const RoomTables& tables_;
  std::vector<std::vector<bool>> facts_, bits_;
  bool ends_ = false;
  std::vector<std::pair<std::size_t, std::size_t>> whole_;
  bool phase_of_first_ = false;
  bool limited_ = false, parted_ = false, forcing_ = true, exact_ = true;
  Chain chain_ = Chain::followed;
  Props members_, frontier_;
  std::vector<std::pair<std::size_t, std::size_t>> waiting_;
  std::vector<std::pair<std::size_t, rows::Literal>> read_;
};

/// A fact of the same input that no value makes true.
rows::RawFact never_true(const rows::RawFact& bit) {
  rows::RawFact fact = bit;
  if (bit.kind == FactKind::input_in) fact.b = fact.c = 254;
  return fact;
}

bool has_no_value_at_first(const rows::Input& input) {
  return input.kind != rows::InputKind::operator_button;
}

void cut_rows(const Cone& cone, std::size_t c, Part& part) {
  rows::Table& rows = part.rows;
  const auto keeps_action = [&](const rows::Action& action) {
    switch (action.kind) {
      case ActionKind::keep:
        return static_cast<bool>(part.drives[action.index]);
      case ActionKind::play:
      case ActionKind::quiet:
        return static_cast<bool>(part.outputs[action.index]);
      case ActionKind::start:
      case ActionKind::stop:
        return static_cast<bool>(part.timers[action.index]);
      case ActionKind::change:
      case ActionKind::set:
        return static_cast<bool>(part.counters[action.index]);
      default:
        return false;
    }
  };
  std::vector<int> renamed(rows.actions.size(), -1);
  std::vector<rows::ActionList> lists;
  for (std::size_t n = 0; n < rows.actions.size(); ++n) {
    rows::ActionList kept;
    for (const rows::Action& action : rows.actions[n])
      if (keeps_action(action)) kept.push_back(action);
    if (kept.empty()) continue;
    const auto same = std::find_if(lists.begin(), lists.end(), [&](const rows::ActionList& list) {
      return list.size() == kept.size() && std::equal(list.begin(), list.end(), kept.begin(),
                                                      [](const rows::Action& a, const rows::Action& b) {
                                                        return a.kind == b.kind && a.index == b.index &&
                                                               a.level == b.level && a.n == b.n &&
                                                               a.by == b.by;
                                                      });
    });
    renamed[n] = static_cast<int>(same - lists.begin());
    if (same == lists.end()) lists.push_back(std::move(kept));
  }
  rows.actions = std::move(lists);
  // A list that changes nothing: it sends a cue, which no row reads.
  auto nothing = [&, made = -1]() mutable {
    if (made >= 0) return made;
    rows::Action action;
    action.kind = ActionKind::send;
    rows.link.cues = std::max<std::uint8_t>(rows.link.cues, 1);
    made = static_cast<int>(rows.actions.size());
    rows.actions.push_back({action});
    return made;
  };
  part.rules.resize(rows.bodies.size());
  const auto rename = [&](int list) { return list < 0 ? -1 : renamed[static_cast<std::size_t>(list)]; };

  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    const bool stays = part.props[p];
    rows::Prop& prop = rows.props[p];
    if (!stays && !part.chained[p]) prop.wakes = rows::kFalse;
    for (const rows::State& state : prop.states)
      for (const std::uint16_t b : state.bodies) {
        rows::Body& body = rows.bodies[b];
        if (!stays) {
          body.rules.clear();
          body.keeps.clear();
          body.enter = body.leave = -1;
          continue;
        }
      }
  }
  std::vector<bool> of_whole(rows.bodies.size()), of_any(rows.bodies.size());
  for (std::size_t p = 0; p < rows.props.size(); ++p)
    for (const rows::State& state : rows.props[p].states)
      for (const std::uint16_t b : state.bodies) {
        of_any[b] = part.props[p];
        of_whole[b] = cone.whole(c, p);
      }
  for (std::size_t b = 0; b < rows.bodies.size(); ++b) {
    rows::Body& body = rows.bodies[b];
    if (!of_any[b]) continue;
    body.enter = rename(body.enter);
    body.leave = rename(body.leave);
    std::vector<rows::Keep> keeps;
    for (const rows::Keep& keep : body.keeps)
      if (part.outputs[keep.output]) keeps.push_back(keep);
    body.keeps = std::move(keeps);
    std::vector<rows::Rule> rules;
    for (std::size_t r = 0; r < body.rules.size(); ++r) {
      rows::Rule rule = body.rules[r];
      rule.actions = rename(rule.actions);
      if (rule.target == 0 && rule.actions < 0) {
        // Nobody sees what it does; whether it is ever due may still be asked.
        if (!of_whole[b]) continue;
        rule.actions = nothing();
      }
      part.rules[b].push_back(static_cast<std::uint16_t>(r));
      rules.push_back(rule);
    }
    body.rules = std::move(rules);
  }
  for (std::size_t n = 0; n < rows.sequences.size(); ++n)
    if (!part.sequences[n]) rows.sequences[n].listens = rows::kFalse;
  // Input bits that nobody follows are free where they are heard, so nothing is sent of them.
  for (std::size_t n = 0; n < rows.link.bits.size(); ++n)
    if (rows.link.bits[n].kind <= FactKind::input_stirs && !cone.bit(c, n))
      rows.link.bits[n] = never_true(rows.link.bits[n]);
  rows.readies.clear();
  rows.tells.clear();
  if (!part.phase_ended || !cone.ends()) {
    // Where an end may come at any time, its causes need not be looked at.
    rows.session.finish.clear();
    if (!part.phase_ended) rows.session.length = 0;
  }
}

Slice make_slice(const model::Room& room, const RoomTables& tables, const std::vector<Question>& questions,
                 const Props& also, Freedoms freedoms, bool whole, const Props* members, Props* frontier,
                 Chain chain, bool follow_inputs = false) {
  const bool parted = tables.controllers.size() > 1 && (freedoms.cut || freedoms.restart);
  Cone cone(room, tables, members, chain, parted);
  cone.follow_inputs = follow_inputs;
  for (const Question& question : questions)
    for (const Ask& ask : question) {
      if (ask.kind == Ask::Kind::fact) {
        cone.want(ask.controller, ask.fact);
        cone.parts[ask.controller].facts.push_back(ask.fact);
      } else if (ask.kind == Ask::Kind::scan_fact) {
        cone.want(ask.controller, rows::literal(ask.a));
      }
    }
  for (const auto& [c, p] : also) cone.want_all_of(c, p);
  if (whole)
    for (std::size_t c = 0; c < cone.parts.size(); ++c) {
      for (std::size_t n = 0; n < cone.rows(c).outputs.size(); ++n) cone.want_output(c, n);
      for (std::size_t p = 0; p < cone.rows(c).props.size(); ++p) cone.want_all_of(c, p);
      cone.want_end(c);
    }
  cone.asked();
  if (members) cone.hear_sessions();
  if (!members && !parted) cone.want_phase(0);
  // 7.1: a session starts by itself once every input has a value; one on each controller that nobody reads
  // stands for all of those.
  if (cone.rows(0).session.starts == rows::StartKind::itself)
    for (std::size_t c = 0; c < cone.parts.size(); ++c) {
      const std::vector<rows::Input>& inputs = cone.rows(c).inputs;
      for (std::size_t n = 0; n < inputs.size() && cone.parts[c].present; ++n) {
        if (cone.parts[c].inputs[n] || !has_no_value_at_first(inputs[n])) continue;
        cone.parts[c].inputs[n] = true;
        break;
      }
    }
  Slice slice;
  slice.freedoms = freedoms;
  slice.exact = cone.exact();
  slice.parted = parted;
  if (frontier) *frontier = cone.frontier();
  slice.parts = std::move(cone.parts);
  for (std::size_t c = 0; c < slice.parts.size(); ++c) {
    slice.parts[c].rows = tables.controllers[c].rows;
    for (std::size_t n = 0; n < slice.parts[c].rows.facts.size(); ++n)
      if (cone.fact(c, n + 1)) slice.parts[c].facts.push_back(slice.parts[c].rows.facts[n]);
    for (std::size_t n = 0; n < slice.parts[c].rows.link.bits.size(); ++n)
      if (cone.bit(c, n)) slice.parts[c].facts.push_back(slice.parts[c].rows.link.bits[n]);
    for (std::size_t n = 0; n < slice.parts[c].rows.link.bits.size(); ++n)
      slice.parts[c].bits.push_back(cone.bit(c, n));
    cut_rows(cone, c, slice.parts[c]);
    slice.props +=
        static_cast<std::size_t>(std::count(slice.parts[c].props.begin(), slice.parts[c].props.end(), true));
  }
  for (const Part& part : slice.parts)
    for (const rows::RawFact& fact : part.facts)
      if (fact.kind == FactKind::peer_stirs)
        slice.parts[part.rows.link.peers[fact.a].controller].stirs = true;
  const auto fastest = [&](std::size_t from, std::size_t to) {
    const model::Link* found = nullptr;
    for (const model::Link& link : room.links) {
      const auto joins = [&](std::size_t c) {
        return std::find(link.joins.begin(), link.joins.end(), model::ControllerId(c)) != link.joins.end();
      };
      if (joins(from) && joins(to) && (!found || link.delay_ms < found->delay_ms)) found = &link;
    }
    return found;
  };
  for (std::size_t c = 0; c < slice.parts.size(); ++c)
    for (FarInput& far : slice.parts[c].far)
      if (const model::Link* const link = fastest(far.controller, c)) far.delay_ms = link->delay_ms;
  for (std::size_t from = 0; from < slice.parts.size() && !parted; ++from)
    for (std::size_t to = 0; to < slice.parts.size(); ++to) {
      if (from == to || !slice.parts[from].present || !slice.parts[to].present) continue;
      if (const model::Link* const link = fastest(from, to))
        slice.lines.push_back(
            {static_cast<std::uint8_t>(from), static_cast<std::uint8_t>(to), link->delay_ms});
    }
  for (std::size_t c = 0; c < slice.parts.size(); ++c) {
    Absent absent;
    if (c != 0)
      if (const model::Link* const link = fastest(c, 0)) absent.delay_ms = link->delay_ms;
    const std::vector<rows::Input>& inputs = tables.controllers[c].rows.inputs;
    absent.has_inputs = std::any_of(inputs.begin(), inputs.end(), has_no_value_at_first);
    slice.absent.push_back(absent);
  }
  return slice;
}

}  // namespace

bool moves_are_read(const Slice& slice) {
  return std::any_of(slice.parts.begin(), slice.parts.end(), [](const Part& part) {
    return std::any_of(part.facts.begin(), part.facts.end(),
                       [](const rows::RawFact& fact) { return fact.kind == FactKind::input_moving; });
  });
}

bool inputs_are_sent(const Slice& slice) {
  for (const Part& part : slice.parts) {
    for (const FarInput& far : part.far)
      if (speaks_of_input(far.says.kind)) return true;
    for (std::size_t n = 0; n < part.bits.size(); ++n)
      if (part.bits[n] && speaks_of_input(part.rows.link.bits[n].kind)) return true;
  }
  return false;
}

void Slice::let_sessions_go_on() {
  for (Part& part : parts) {
    part.rows.session.length = 0;
    part.rows.session.finish.clear();
    part.phase_ended = false;
  }
}

namespace {

/// Whether anything of the part reads what that controller says, or whether it is lost.
bool listens(const Part& part, std::uint8_t to) {
  return std::any_of(part.facts.begin(), part.facts.end(), [&](const rows::RawFact& fact) {
    if (fact.kind != FactKind::peer_says && fact.kind != FactKind::peer_lost &&
        fact.kind != FactKind::peer_stirs)
      return false;
    if (part.rows.link.peers[fact.a].controller != to) return false;
    // What is free is heard at any time.
    return fact.kind != FactKind::peer_says ||
           std::none_of(part.far.begin(), part.far.end(),
                        [&](const FarInput& far) { return far.peer == fact.a && far.bit == fact.b; });
  });
}

}  // namespace

void Slice::forget_resets() {
  first_epoch = true;
  if (freedoms.cut || freedoms.restart) return;
  // An end is heard of anybody.
  if (std::any_of(parts.begin(), parts.end(), [](const Part& part) { return part.phase_ended; })) return;
  // A start is heard of the first controller; that it must have heard the others first the space sees to.
  lines.erase(
      std::remove_if(lines.begin(), lines.end(),
                     [&](const Line& line) { return line.from != 0 && !listens(parts[line.to], line.from); }),
      lines.end());
}

std::int64_t Slice::unit_ms() const {
  std::int64_t unit_ms = 0;
  for (const Part& part : parts)
    if (part.present) unit_ms = std::gcd(unit_ms, std::int64_t{part.rows.scan_ms});
  return unit_ms == 0 ? parts[0].rows.scan_ms : unit_ms;
}

bool Slice::keeps_to_chain() const {
  for (const Part& part : parts)
    for (std::size_t p = 0; p < part.chained.size(); ++p)
      if (part.chained[p] && part.rows.props[p].wakes != rows::kTrue) return true;
  return false;
}

bool Slice::one_period() const {
  return std::all_of(parts.begin(), parts.end(),
                     [&](const Part& part) { return !part.present || part.rows.scan_ms == unit_ms(); });
}

std::int32_t Slice::ticks(std::size_t controller) const {
  return static_cast<std::int32_t>(parts[controller].rows.scan_ms / unit_ms());
}

std::int32_t Slice::round_ticks() const {
  constexpr std::int64_t kMostTicks = 32, kMostWays = 16;
  std::int64_t round = 1, positions = 1;
  for (std::size_t c = 0; c < parts.size(); ++c) {
    if (!parts[c].present) continue;
    round = std::lcm(round, std::int64_t{ticks(c)});
    positions *= ticks(c);
    // In `positions / round` ways they may stand to each other (Space::starts).
    if (round > kMostTicks || positions > kMostTicks * kMostWays) return 0;
  }
  return positions / round > kMostWays ? 0 : static_cast<std::int32_t>(round);
}

Slice slice_of(const model::Room& room, const RoomTables& tables, const std::vector<Question>& questions,
               const Props& also, Freedoms freedoms, const Props& members, Props& frontier, bool chained) {
  // An override solves what still waits.
  return make_slice(room, tables, questions, also, freedoms, false, &members, &frontier,
                    chained && !freedoms.override_ ? Chain::kept : Chain::followed);
}

void keep_own(const Slice& part, Props& frontier) {
  for (auto seat = frontier.begin(); part.parted && seat != frontier.end();)
    seat = part.parts[seat->first].free_props[seat->second] ? std::next(seat) : frontier.erase(seat);
}

Props grown(const Slice& part, Props members, const Props& frontier) {
  for (std::size_t c = 0; c < part.parts.size(); ++c)
    for (std::size_t p = 0; p < part.parts[c].props.size(); ++p)
      if (part.parts[c].props[p]) members.emplace(static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p));
  members.insert(frontier.begin(), frontier.end());
  return members;
}

Slice slice_of(const model::Room& room, const RoomTables& tables, const std::vector<Question>& questions,
               const Props& also, Freedoms freedoms, bool whole, bool follow_inputs) {
  return make_slice(room, tables, questions, also, freedoms, whole, nullptr, nullptr, Chain::followed,
                    follow_inputs);
}

Slice says_in(const model::Room& room, const RoomTables& tables, const std::vector<Question>& questions) {
  return make_slice(room, tables, questions, {}, Freedoms{}, false, nullptr, nullptr, Chain::left_out);
}

}  // namespace lw::explore

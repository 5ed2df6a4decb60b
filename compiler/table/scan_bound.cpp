// See scan_bound.hpp. Each function here follows one of the runtime and counts its loops; where the runtime's
// way depends on what comes in, the longer is counted.
#include "table/scan_bound.hpp"

#include <algorithm>
#include <initializer_list>
#include <string_view>
#include <vector>

#include "table/bytes.hpp"

namespace lw {
namespace {

using rows::FactKind;
using rows::InputKind;
using W = ScanWork;

constexpr std::uint64_t kCycles[] = {
#define LW_SCAN_COST(name, cycles) cycles,
#include "table/scan_costs.def"
};

std::uint32_t number_bytes(std::uint64_t n) {
  std::uint32_t bytes = 1;
  for (; n >= 0x80; n >>= 7) ++bytes;
  return bytes;
}

std::uint64_t zigzag(std::int64_t n) {
  return n < 0 ? static_cast<std::uint64_t>(-n) * 2 - 1 : static_cast<std::uint64_t>(n) * 2;
}

constexpr std::uint64_t kOwnBytes = 32;      // what the runtime keeps for its own bits while it looks
constexpr std::uint64_t kMessageBytes = 50;  // of the longest message

bool is_scale(InputKind kind) { return kind == InputKind::scale || kind == InputKind::gauge; }

/// Counts of a stretch of the runtime's way.
struct Work {
  ScanCounts counts{};

  Work& add(W work, std::uint64_t times = 1) {
    counts[static_cast<std::size_t>(work)] += times;
    return *this;
  }
  Work& add(const Work& other, std::uint64_t times = 1) {
    for (std::size_t n = 0; n < kScanWorks; ++n) counts[n] += other.counts[n] * times;
    return *this;
  }
  /// Numbers of the table of variable length are read.
  Work& read(std::initializer_list<std::uint64_t> numbers) {
    for (const std::uint64_t number : numbers) {
      const std::uint32_t bytes = number_bytes(number);
      if (bytes == 1) continue;
      add(W::long_number).add(W::number_more, bytes - 2).add(W::number_shift, 7 * bytes * (bytes - 1) / 2);
    }
    return *this;
  }
  Work& skip(std::initializer_list<std::uint64_t> numbers) {
    for (const std::uint64_t number : numbers) add(W::skip).add(W::skip_more, number_bytes(number) - 1);
    return *this;
  }
  std::uint64_t cycles() const { return cost_of(counts); }
};

const Work& dearer(const Work& a, const Work& b) { return a.cycles() < b.cycles() ? b : a; }

/// Kind by kind the larger count: no scan, but none has more.
Work larger(const Work& a, const Work& b) {
  Work both;
  for (std::size_t n = 0; n < kScanWorks; ++n) both.counts[n] = std::max(a.counts[n], b.counts[n]);
  return both;
}

/// Of ways of which one is gone: how they are weighed up.
using Choose = Work (*)(const Work&, const Work&);

class Counter {
 public:
  Counter(const rows::Table& table, Choose choose) : t_(table), choose_(choose) {
    for (const rows::Output& output : t_.outputs) voices_ += output.voice;
    own_bits_ = t_.link.bits.size();
    // An offset in the actions section is at most this.
    for (const rows::ActionList& list : t_.actions) actions_bytes_ += 1 + 8 * list.size();
  }

  Work scan() const {
    Work all;
    all.add(W::lw_condition).add(W::lw_step).add(W::lw_say).add(condition()).add(end_scan()).add(say());
    return all.add(choose_(choose_(step(true), step(false)), reset()));
  }

  Work message() const {
    Work all;
    std::size_t most_bits = 0;
    for (const rows::Peer& peer : t_.link.peers) most_bits = std::max(most_bits, bits_of(peer));
    all.add(W::lw_take).add(peers(t_.link.peers.size())).add(W::peer_sought, t_.link.peers.size());
    // Of another room's message, too, the bytes are summed up first.
    all.add(W::message_byte, kMessageBytes - 2).add(W::bit_taken, most_bits);
    return all.add(reset());
  }

 private:
  const rows::Table& t_;
  Choose choose_;
  std::size_t voices_ = 0, own_bits_ = 0, actions_bytes_ = 0;

  static std::size_t bits_of(const rows::Peer& peer) {
    return std::size_t{peer.input_bits} + peer.state_bits + peer.solved_bits;
  }

  // ---- Conditioning ----

  static Work input_row(const rows::Input& input) {
    Work all;
    all.read({input.steady, input.lost_after});
    if (is_scale(input.kind)) {
      all.read({input.circle, input.edges.size()});
      for (const std::uint64_t step : steps(input)) all.skip({step});
    } else if (input.kind == InputKind::keypad) {
      all.read({input.gap});
    }
    return all;
  }

  /// The edges as they are written.
  static std::vector<std::uint64_t> steps(const rows::Input& input) {
    std::vector<std::uint64_t> all;
    std::int64_t before = 0;
    for (const std::int32_t edge : input.edges) {
      all.push_back(zigzag(edge - before));
      before = edge;
    }
    return all;
  }

  Work condition() const {
    Work all;
    for (const rows::Input& input : t_.inputs) {
      all.add(input_row(input));
      if (is_scale(input.kind)) {
        all.add(W::input_scale).add(W::zero, 9).add(W::edge, input.edges.size());
        for (const std::uint64_t step : steps(input)) all.read({step});
      } else if (input.kind == InputKind::keypad) {
        all.add(W::input_keypad).add(W::zero, input.longest).add(W::key_kept, input.longest);
      } else {
        all.add(W::input_other);
      }
    }
    all.add(peers(t_.link.peers.size())).add(W::peer_silent, t_.link.peers.size());
    for (const rows::Peer& peer : t_.link.peers) all.add(W::bit_forgotten, peer.input_bits);
    return all;
  }

  /// The link section is walked up to the n-th peer.
  Work peers(std::size_t n) const {
    Work all;
    all.read({t_.link.send_every, t_.link.peers.size()});
    for (std::size_t k = 0; k < n; ++k) all.read({t_.link.peers[k].lost_after});
    return all;
  }

  // ---- Facts ----

  Work fact(const rows::RawFact& f) const {
    Work all;
    switch (f.kind) {
      case FactKind::timer_from:
        return all.add(W::fact_plain).read({f.b});
      case FactKind::session_from:
        return all.add(W::fact_plain).read({f.a});
      case FactKind::counter_in:
      case FactKind::session_in:
        return all.add(W::fact_plain);
      case FactKind::output_is:
        return all.add(W::fact_output);
      case FactKind::peer_lost:
      case FactKind::peer_says:
        return all.add(W::fact_peer).add(peer_passed(f.a));
      case FactKind::sequence_in:
        all.add(W::fact_sequence).add(W::sequence_passed, f.a);
        for (std::size_t n = 0; n < f.a; ++n) pass_sequence(t_.sequences[n], all);
        return all;
      case FactKind::input_enters:
        all.add(W::fact_enters).add(W::input_passed, f.a + 1).add(W::key_compared, f.keys.size());
        for (std::size_t n = 0; n <= f.a; ++n) all.add(input_row(t_.inputs[n]));
        return all;
      default:
        return all.add(W::fact_of_byte);
    }
  }

  Work peer_passed(std::size_t n) const {
    Work all;
    return all.add(W::peer_passed, n + 1).add(peers(n + 1));
  }

  static void pass_sequence(const rows::Sequence& s, Work& all) {
    all.skip({s.derived_before, s.listens, s.hush});
    if (s.has_each) all.skip({s.each, s.hold});
    if (s.has_gaps) all.skip({s.gap_top});
    if (s.has_within) all.skip({s.within});
    for (const rows::Literal l : s.conditions) all.skip({l});
    all.read({s.conditions.size(), s.steps.size(), s.facts.size()});
    all.add(W::step_passed, s.steps.size());
    if (!s.has_gaps) return;
    for (const rows::SequenceStep& step : s.steps) all.skip({step.gap_low, step.gap_high});
  }

  Work groups(const std::vector<rows::RawFact>& facts) const {
    Work all;
    for (std::size_t from = 0, to = 0; from < facts.size(); from = to) {
      for (; to < facts.size() && facts[to].kind == facts[from].kind; ++to) all.add(fact(facts[to]));
      all.add(W::group).read({to - from});
    }
    return all;
  }

  Work snapshot() const {
    Work all;
    all.add(W::snapshot).add(groups(t_.facts));
    for (const rows::DerivedFact& derived : t_.derived) {
      all.add(W::derived).add(W::literal, derived.literals.size());
      for (const rows::Literal l : derived.literals) all.read({l});
    }
    for (const rows::Sequence& s : t_.sequences) sequence(s, all);
    return all;
  }

  static void sequence(const rows::Sequence& s, Work& all) {
    all.add(W::sequence)
        .read({s.derived_before, s.listens, s.hush, s.conditions.size(), s.steps.size(), s.facts.size()});
    if (s.has_each) all.read({s.each, s.hold});
    if (s.has_gaps) all.read({s.gap_top});
    if (s.has_within) all.read({s.within});
    all.add(W::condition, s.conditions.size());
    for (const rows::Literal l : s.conditions) all.read({l});
    all.add(W::step, s.steps.size()).add(W::sequence_fact, s.facts.size());
    // The step that is next is looked for, and the first again when a time has passed and when the event is
    // wrong.
    all.add(W::step_looked_at, s.steps.size() + 2);
    if (!s.has_gaps) return;
    for (const rows::SequenceStep& step : s.steps) {
      all.skip({step.gap_low, step.gap_high}).read({step.gap_low, step.gap_high});
    }
    for (int again = 0; again < 2; ++again) all.read({s.steps[0].gap_low, s.steps[0].gap_high});
  }

  // ---- The step ----

  /// What every step does but the reset; `starts` when the session starts in it.
  Work step(bool starts) const {
    const rows::Session& session = t_.session;
    Work all;
    all.add(next_scratch());
    all.add(W::timer, t_.timers.size());
    all.add(W::drive, t_.drives.size()).add(W::zero, 6 * t_.drives.size());
    all.add(W::voice, voices_).add(W::zero, 7 * voices_);
    all.read({session.condition, session.hold, session.hush, session.length, session.finish.size()});
    if (starts) {
      // The condition is looked at with facts of its own.
      if (session.starts == rows::StartKind::when || session.starts == rows::StartKind::edge)
        all.add(snapshot());
      all.add(W::input_known, t_.inputs.size()).add(W::zero, 8);
      all.add(peers(t_.link.peers.size())).add(W::peer_awaited, t_.link.peers.size());
    } else {
      all.skip({session.condition, session.hold, session.hush});
      for (const rows::Finish& finish : session.finish) {
        if (finish.where == 0)
          all.add(W::finish_own);
        else
          all.add(W::finish_peer).add(peer_passed(finish.where - 1u));
      }
    }
    all.add(snapshot());
    all.read({t_.readies.size()}).add(W::ready, t_.readies.size());
    for (const rows::Ready& ready : t_.readies) all.read({ready.condition, ready.hold});
    std::size_t tails = 0;
    for (const rows::Prop& prop : t_.props) {
      all.add(this->prop(prop, starts, prop.tails_end != tails ? 2 : 1));
      tails = prop.tails_end;
    }
    all.add(W::prop, t_.props.size()).add(W::prop_shown, t_.props.size());
    all.add(W::tail, t_.tails.size()).add(W::zero, 6 * t_.tails.size());
    all.add(W::drive_asked, t_.drives.size());
    all.add(W::zero, 3 * t_.outputs.size() + 7 * voices_);
    all.add(W::voice_shown, voices_).add(W::output_shown, t_.outputs.size() - voices_);
    return all;
  }

  Work next_scratch() const {
    Work all;
    return all.add(W::zero, voices_ + (t_.link.cues + 7u) / 8);
  }

  /// A prop's step, and what its state asks for afterwards, with its keeps gone over so many times.
  Work prop(const rows::Prop& prop, bool starts, std::uint64_t keeps_times) const {
    Work wakes;
    wakes.add(W::zero, prop.locals_size)
        .add(enter(prop, prop.start))
        .add(keeps(prop, prop.start), keeps_times);
    Work dearest = wakes;
    const auto solved = [&](const Work& before) {
      if (prop.goal == 0) return;
      Work all = before;
      all.add(enter(prop, prop.goal)).add(keeps(prop, prop.goal), keeps_times);
      dearest = choose_(dearest, all);
    };
    Work locals;
    locals.add(W::zero, prop.locals_size);
    solved(locals);
    if (starts) return dearest;  // all props wait until then
    for (std::size_t from = 1; from <= prop.states.size(); ++from) {
      Work away;
      away.add(leave(prop, from)).add(clear(prop, from));
      solved(away);
      Work stays = rules(prop, from);
      stays.add(keeps(prop, from), keeps_times);
      dearest = choose_(dearest, stays);
      for (const std::uint16_t body : prop.states[from - 1].bodies)
        for (const rows::Rule& rule : t_.bodies[body].rules) {
          if (rule.target == 0) continue;
          Work moves = rules(prop, from);
          moves.add(away).add(act(rule.actions)).add(enter(prop, rule.target));
          moves.add(keeps(prop, rule.target), keeps_times);
          dearest = choose_(dearest, moves);
        }
    }
    return dearest;
  }

  Work act(int list) const {
    Work all;
    if (list < 0) return all;
    const rows::ActionList& actions = t_.actions[static_cast<std::size_t>(list)];
    all.add(W::list).add(W::action, actions.size());
    for (const rows::Action& action : actions) {
      if (action.kind == rows::ActionKind::keep) all.read({action.n});
      if (action.kind == rows::ActionKind::quiet) all.add(W::zero, 7);
    }
    return all;
  }

  /// The bodies of a state are walked, up to their rules.
  Work bodies(const rows::Prop& prop, std::size_t state, W each) const {
    Work all;
    for (const std::uint16_t n : prop.states[state - 1].bodies) {
      const rows::Body& body = t_.bodies[n];
      all.add(each).read({body.rules.size(), body.keeps.size(), body.locals, body.locals_size, body.runs});
      if (body.enter >= 0) all.read({actions_bytes_});
      if (body.leave >= 0) all.read({actions_bytes_});
    }
    return all;
  }

  Work rule_row(const rows::Rule& rule) const {
    Work all;
    all.read({rule.condition, rule.n, rule.a});
    return rule.actions >= 0 ? all.read({actions_bytes_}) : all;
  }

  /// All of a state's rules, with those that act and stay all due.
  Work rules(const rows::Prop& prop, std::size_t from) const {
    Work all = bodies(prop, from, W::rule_body);
    for (const std::uint16_t n : prop.states[from - 1].bodies)
      for (const rows::Rule& rule : t_.bodies[n].rules) {
        all.add(W::rule).add(rule_row(rule));
        if (rule.target == 0) all.add(act(rule.actions));
      }
    return all;
  }

  Work leave(const rows::Prop& prop, std::size_t from) const {
    Work all = bodies(prop, from, W::leave_body);
    all.add(W::leave);
    for (const std::uint16_t n : prop.states[from - 1].bodies) all.add(act(t_.bodies[n].leave));
    return all;
  }

  Work clear(const rows::Prop& prop, std::size_t which) const {
    Work all = bodies(prop, which, W::clear_body);
    std::size_t other = 0;
    for (const rows::State& state : prop.states) other = std::max(other, state.bodies.size());
    all.add(W::clear);
    for (const std::uint16_t n : prop.states[which - 1].bodies) {
      const rows::Body& body = t_.bodies[n];
      all.add(W::clear_name, other).add(W::clear_rule, body.rules.size()).add(W::zero, body.locals_size);
      for (const rows::Rule& rule : body.rules) all.add(rule_row(rule)).add(W::zero, rule.run_width);
    }
    return all;
  }

  /// With the clearing of the new state.
  Work enter(const rows::Prop& prop, std::size_t to) const {
    Work all = bodies(prop, to, W::enter_body);
    all.add(W::enter).add(clear(prop, to));
    for (const std::uint16_t n : prop.states[to - 1].bodies) all.add(act(t_.bodies[n].enter));
    return all;
  }

  Work keeps(const rows::Prop& prop, std::size_t state) const {
    Work all = bodies(prop, state, W::keep_body);
    all.add(W::keeps);
    for (const std::uint16_t n : prop.states[state - 1].bodies) {
      const rows::Body& body = t_.bodies[n];
      if (body.keeps.empty()) continue;
      all.add(W::keep_rule_passed, body.rules.size()).add(W::keep, body.keeps.size());
      for (const rows::Rule& rule : body.rules) all.add(rule_row(rule));
      for (const rows::Keep& keep : body.keeps) all.read({keep.while_});
    }
    return all;
  }

  // ---- Before and after ----

  Work reset() const {
    Work all;
    std::uint64_t zeroed = 9;
    bool in = false;
    for (const BlockPart& part : block_parts(t_)) {
      const std::string_view name = part.name;
      in = in || name == "blink phases";
      // Inputs and what is heard stay; what lies between is gone over, too.
      if (in) zeroed += part.bytes;
    }
    all.add(W::reset).add(W::zero, zeroed).add(W::reset_output, t_.outputs.size());
    all.add(peers(t_.link.peers.size())).add(W::reset_peer, t_.link.peers.size());
    for (const rows::Peer& peer : t_.link.peers) all.add(W::reset_bit, bits_of(peer));
    return all;
  }

  Work end_scan() const {
    Work all;
    all.add(W::zero, t_.inputs.size() + t_.link.peers.size());
    all.add(peers(t_.link.peers.size()));
    if (t_.link.send_every == 0) return all;
    all.add(W::peer_told, t_.link.peers.size()).add(W::input_told, t_.inputs.size());
    all.add(W::zero, kOwnBytes).add(groups(t_.link.bits));
    all.add(W::bits_told, (own_bits_ + 7) / 8).add(W::input_known, t_.inputs.size());
    return all;
  }

  Work say() const {
    Work all;
    if (t_.link.send_every == 0) return all;
    return all.add(W::message_byte, 16 + (own_bits_ + 7) / 8).add(W::bits_said, (own_bits_ + 7) / 8);
  }
};

}  // namespace

const char* name_of(ScanWork work) {
  static constexpr const char* kNames[] = {
#define LW_SCAN_COST(name, cycles) #name,
#include "table/scan_costs.def"
  };
  return kNames[static_cast<std::size_t>(work)];
}

std::uint64_t cost_of(const ScanCounts& counts) {
  std::uint64_t cycles = 0;
  for (std::size_t n = 0; n < kScanWorks; ++n) cycles += counts[n] * kCycles[n];
  return cycles;
}

ScanBound scan_bound(const rows::Table& table) {
  const Counter worst(table, [](const Work& a, const Work& b) { return dearer(a, b); });
  const Counter any(table, larger);
  return {worst.scan().counts, worst.message().counts, any.scan().counts};
}

}  // namespace lw

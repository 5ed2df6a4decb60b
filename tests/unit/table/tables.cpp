#include "tables.hpp"

#include <algorithm>

namespace lw::testing {

using namespace rows;

Table small_table() {
  Table t;
  t.arena = 1;
  t.inputs = {{InputKind::scale, 1, 40, 100, 0, {5, 570, 641}, 0, 0}};
  t.levels = {{LevelKind::off, 0}, {LevelKind::on, 0}};
  t.outputs = {{false, 4, 0, 0}};
  t.facts = {{FactKind::input_in, 0, 2, 2, ""}, {FactKind::input_lost, 0, 0, 0, ""}};
  t.drives = {{0}};
  t.actions = {{{ActionKind::keep, 0, 1, 1000, 0}}};
  Body weighing;
  weighing.rules = {{RuleKind::level, 1, literal(1), 70, 0, 2, -1}};
  weighing.runs = 0;
  Body settled;
  settled.enter = 0;
  t.bodies = {weighing, settled};
  Prop prop;
  prop.goal = 2;
  prop.states = {{false, {0}}, {true, {1}}};
  prop.drives_end = 1;
  t.props = {prop};
  t.session = {StartKind::operator_, kTrue, 0, 360000, {{0, 0}}};
  t.tells = {literal(2)};
  return t;
}

Table full_table() {
  Table t;
  t.scan_ms = 20;
  t.arena = 400;
  t.controller = 0;
  t.controllers = 3;
  t.inputs = {{InputKind::contact, 1, 3, 100, 0, {}, 0, 0},
              {InputKind::button, 2, 3, 100, 0, {}, 0, 0},
              {InputKind::reader, 1, 5, 100, 0, {}, 0, 0},
              {InputKind::keypad, 1, 3, 100, 0, {}, 500, 4},
              {InputKind::scale, 1, 40, 100, 0, {-3, 5, 570, 641}, 0, 0},
              {InputKind::gauge, 1, 40, 65534, 360, {90, 270}, 0, 0},
              {InputKind::operator_button, 1, 0, 0, 0, {}, 0, 0},
              {InputKind::signal, 1, 0, 200, 0, {}, 0, 0}};
  t.tags = {std::string("\x04\xAA", 2), std::string("\0\xFF\x80 0123456", 10)};
  t.clips = {120, 0xFFFFFE};
  t.levels = {{LevelKind::off, 0},
              {LevelKind::on, 0},
              {LevelKind::at, 40},
              {LevelKind::blinking, 50},
              {LevelKind::playing, 1}};
  t.outputs = {{true, 1, 0, 0}};
  for (std::uint8_t n = 1; n < 70; ++n) t.outputs.push_back({false, n, static_cast<std::uint8_t>(n % 3), 1});
  t.timers = {{0, 1500}};
  for (std::uint16_t n = 0; n < 40; ++n)
    t.counters.push_back({static_cast<std::uint16_t>(4 + n), static_cast<std::uint8_t>(n + 5)});
  t.facts = {{FactKind::input_in, 0, 1, 1, ""},          // 1
             {FactKind::input_in, 4, 2, 3, ""},          // 2
             {FactKind::input_lost, 4, 0, 0, ""},        // 3
             {FactKind::input_moving, 4, 0, 0, ""},      // 4
             {FactKind::input_edge, 1, 0, 0, ""},        // 5
             {FactKind::input_enters, 3, 0, 0, "4711"},  // 6
             {FactKind::input_stirs, 0, 0, 0, ""},       // 7
             {FactKind::prop_in, 0, 0, 2, ""},           // 8
             {FactKind::prop_solved, 1, 0, 0, ""},       // 9
             {FactKind::counter_in, 0, 1, 5, ""},        // 10
             {FactKind::timer_from, 0, 1501, 0, ""},     // 11
             {FactKind::session_in, 1, 2, 0, ""},        // 12
             {FactKind::session_from, 3000, 0, 0, ""},   // 13
             {FactKind::output_is, 1, 0, 0, ""},         // 14
             {FactKind::output_is, 1, 128 + 40, 0, ""},  // 15
             {FactKind::peer_lost, 1, 0, 0, ""},         // 16
             {FactKind::peer_says, 0, 9, 0, ""},         // 17
             {FactKind::peer_stirs, 0, 0, 0, ""}};       // 18
  Sequence steps;
  steps.place = 100;
  steps.has_gaps = steps.has_within = true;
  steps.derived_before = 1;
  steps.listens = literal(8);
  steps.hush = literal(7);
  steps.gap_top = 201;
  steps.within = 6000;
  steps.conditions = {literal(1), literal(5), literal(1, true)};
  steps.edges = 2;
  steps.steps = {{0, 0, 0}, {1, 10, 200}, {2, 0, 150}, {1, 5, 0}};
  steps.facts = {{254, 254}, {255, 255}, {2, 3}};  // 19, 20, 21
  Sequence each;
  each.place = 120;
  each.has_each = each.wrong_ignored = true;
  each.derived_before = 2;
  each.each = literal(23);
  each.each_edge = false;
  each.hold = 25;
  each.conditions = {literal(2), literal(3)};
  each.steps = {{0, 0, 0}, {1, 0, 0}};
  each.facts = {{254, 254}};  // 22
  t.sequences = {steps, each};
  t.derived = {{1, {literal(1), literal(2, true)}},  // 23
               {2, {literal(19), literal(23), literal(17)}},
               {1, {literal(22), literal(24)}}};
  t.drives = {{0}, {1}, {2}};
  for (std::uint8_t n = 3; n < 40; ++n) t.drives.push_back({n});
  t.tails = {{1, 1, 250}, {2, 0, 0xFFFFFE}};
  t.actions = {{{ActionKind::keep, 1, 3, 400, 0},
                {ActionKind::play, 0, 1, 80, 0},
                {ActionKind::start, 0, 0, 0, 0},
                {ActionKind::change, 0, 0, 0, -1},
                {ActionKind::change, 35, 0, 0, 3}},
               {{ActionKind::quiet, 0, 0, 0, 0},
                {ActionKind::stop, 0, 0, 0, 0},
                {ActionKind::set, 31, 0, 36, 0},
                {ActionKind::send, 2, 0, 0, 0}},
               {{ActionKind::keep, 33, 2, 0xFFFFFE, 0}}};
  Body shared;
  shared.rules = {{RuleKind::edge, 0, literal(5), 0, 0, 3, 1}, {RuleKind::every, 2, kTrue, 99, 400, 0, 1}};
  shared.runs = 200;
  Body first;
  first.rules = {{RuleKind::level, 0, literal(24), 0, 0, 2, -1},
                 {RuleKind::level, 1, literal(2, true), 0, 0, 0, 0},
                 {RuleKind::level, 4, literal(25), 0xFFFFFE, 0, 1, 0},
                 {RuleKind::age, 0, kTrue, 100, 0, 3, -1}};
  first.keeps = {{1, 3, false, kTrue, -1}, {69, 1, true, literal(8), 0}, {0, 4, true, literal(3, true), -1}};
  first.enter = 1;
  first.leave = 0;
  first.locals = 100;
  first.locals_size = 40;
  first.runs = 210;
  Body second;
  Body goal;
  goal.keeps = {{2, 2, false, kTrue, 1}};
  Body watch;
  watch.enter = 2;
  t.bodies = {shared, first, second, goal, watch};
  Prop prop;
  prop.start = 1;
  prop.goal = 3;
  prop.states = {{false, {0, 1}}, {false, {0, 2}}, {true, {3}}};
  prop.locals = 100;
  prop.locals_size = 44;
  prop.age = 300;
  prop.age_top = 101;
  prop.drives_end = 3;
  prop.tails_end = 2;
  Prop scenery;
  scenery.wakes = literal(24, true);
  scenery.states = {{false, {4}}};
  scenery.drives_end = 40;
  scenery.tails_end = 2;
  t.props = {prop, scenery};
  t.link.cues = 3;
  t.link.send_every = 66;
  t.link.peers = {{1, 200, 4, 5, 1}, {2, 65534, 0, 0, 0}};
  t.link.input_bits = 2;
  t.link.state_bits = 3;
  t.link.solved_bits = 1;
  t.link.bits = {{FactKind::input_in, 0, 1, 1, ""},    {FactKind::input_lost, 0, 0, 0, ""},
                 {FactKind::prop_in, 0, 2, 3, ""},     {FactKind::counter_in, 3, 0, 2, ""},
                 {FactKind::sequence_in, 1, 0, 1, ""}, {FactKind::prop_solved, 0, 0, 0, ""}};
  t.session = {StartKind::when, literal(1), 30, 180000, {{0, 0}, {1, 9}}};
  t.session.hush = literal(7);
  t.readies = {{literal(1, true), 0, 0}, {literal(24), 50, 304}};
  t.tells = {literal(3), kTrue};
  return t;
}

std::uint64_t Dice::roll() {
  std::uint64_t z = state_ += 0x9E3779B97F4A7C15u;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

namespace {

/// Rolls a table part by part, each within what the parts before allow.
class Maker {
 public:
  explicit Maker(std::uint64_t seed) : dice_(seed) {}

  Table make() {
    t_.scan_ms = static_cast<std::uint16_t>(dice_.from(1, 1000));
    t_.arena = static_cast<std::uint16_t>(dice_.from(64, 2000));
    t_.controllers = byte(1, 5);
    t_.controller = byte(0, t_.controllers - 1u);
    t_.identity = dice_.roll();
    for (std::uint32_t n = dice_.below(4); n > 0; --n) t_.clips.push_back(scans());
    levels();
    outputs();
    inputs();
    for (std::uint32_t n = dice_.below(3); n > 0; --n) {
      std::string tag(dice_.from(1, 10), '\0');
      for (char& c : tag) c = static_cast<char>(dice_.below(256));
      t_.tags.push_back(tag);
    }
    for (std::uint32_t n = dice_.below(4); n > 0; --n) t_.timers.push_back({place(4), scans()});
    for (std::uint32_t n = dice_.below(40); n > 0; --n) t_.counters.push_back({place(1), byte(1, 255)});
    peers();
    prop_shapes();
    facts();
    sequences_and_derived();
    drives();
    bodies();
    own_bits();
    session();
    return std::move(t_);
  }

 private:
  Dice dice_;
  Table t_;

  std::uint8_t byte(std::uint32_t low, std::uint32_t high) {
    return static_cast<std::uint8_t>(dice_.from(low, high));
  }
  std::uint8_t which(std::size_t count) { return static_cast<std::uint8_t>(dice_.below(count)); }
  std::uint16_t place(std::uint32_t bytes) {
    return static_cast<std::uint16_t>(dice_.from(0, t_.arena - bytes));
  }
  /// Of every length that a number can have.
  std::uint32_t up_to(std::uint32_t most) {
    const std::uint32_t top[] = {1, 127, 128, 16383, 16384, 2097151, most};
    return dice_.from(0, std::min(most, top[dice_.below(7)]));
  }
  std::uint32_t scans() { return std::max(1u, up_to(0xFFFFFE)); }
  std::uint32_t silence() { return std::max(1u, up_to(65534)); }

  void levels() {
    t_.levels = {{LevelKind::off, 0}, {LevelKind::on, 0}};
    for (std::uint32_t n = dice_.below(3); n > 0; --n)
      t_.levels.push_back({LevelKind::at, static_cast<std::uint16_t>(dice_.from(1, 99))});
    for (std::uint32_t n = dice_.below(3); n > 0; --n)
      t_.levels.push_back({LevelKind::blinking, static_cast<std::uint16_t>(dice_.from(2, 65535))});
    for (std::size_t n = 0; n < t_.clips.size(); ++n)
      t_.levels.push_back({LevelKind::playing, static_cast<std::uint16_t>(n)});
  }
  std::uint8_t level_of(bool voice) {
    for (;;) {
      const std::uint8_t n = which(t_.levels.size());
      if (voice || t_.levels[n].kind != LevelKind::playing) return n;
    }
  }
  void outputs() {
    for (std::uint32_t n = dice_.below(3); n > 0; --n) t_.outputs.push_back({true, byte(1, 255), 0, 0});
    for (std::uint32_t n = dice_.below(4) == 0 ? 70 : dice_.from(1, 6); n > 0; --n)
      t_.outputs.push_back({false, byte(1, 255), level_of(false), level_of(false)});
  }
  void inputs() {
    for (std::uint32_t n = dice_.from(1, 8); n > 0; --n) {
      Input in;
      in.kind = static_cast<InputKind>(dice_.below(8));
      in.terminal = byte(1, 255);
      const bool by_operator = in.kind == InputKind::operator_button;
      if (!by_operator) in.lost_after = silence();
      if (!by_operator && in.kind != InputKind::signal) in.steady = up_to(65534);
      if (in.kind == InputKind::keypad) {
        in.gap = silence();
        in.longest = byte(1, 12);
      }
      if (in.kind == InputKind::gauge && dice_.coin()) in.circle = dice_.from(3, 4000);
      if (in.kind == InputKind::scale || in.kind == InputKind::gauge) {
        std::int32_t edge = static_cast<std::int32_t>(up_to(1000)) - 500;
        for (std::uint32_t k = dice_.below(6); k > 0; --k) {
          in.edges.push_back(edge);
          edge += static_cast<std::int32_t>(1 + up_to(100000));
        }
      }
      t_.inputs.push_back(in);
    }
  }
  void peers() {
    for (std::uint8_t c = 0; c < t_.controllers; ++c)
      if (c != t_.controller && dice_.coin())
        t_.link.peers.push_back({c, silence(), byte(0, 80), byte(0, 80), byte(0, 80)});
    t_.link.cues = byte(0, 40);
    t_.link.send_every = up_to(65534);
  }
  void prop_shapes() {
    for (std::uint32_t n = dice_.below(5); n > 0; --n) {
      Prop prop;
      prop.states.resize(dice_.from(1, 5));
      for (State& state : prop.states) state.goal = dice_.below(3) == 0;
      for (std::size_t s = prop.states.size(); s-- > 0;)
        if (prop.states[s].goal) prop.goal = static_cast<std::uint8_t>(s + 1);
      prop.start = byte(1, static_cast<std::uint32_t>(prop.states.size()));
      if (dice_.coin()) {
        prop.locals_size = byte(1, 20);
        prop.locals = place(prop.locals_size);
      }
      if (dice_.coin()) {
        prop.age = place(4);
        prop.age_top = scans() + 1;
      }
      t_.props.push_back(prop);
    }
  }

  template <class Right>
  bool pick_input(std::uint32_t& n, Right right) {
    for (int tries = 0; tries < 20; ++tries) {
      n = which(t_.inputs.size());
      if (right(t_.inputs[n].kind)) return true;
    }
    return false;
  }
  bool raw_fact(FactKind kind, RawFact& fact) {
    fact = {kind, 0, 0, 0, ""};
    const auto ranged = [&](std::uint32_t top, std::uint32_t& low, std::uint32_t& high) {
      low = dice_.from(0, top);
      high = dice_.from(low, top);
    };
    const auto any = [](InputKind) { return true; };
    switch (kind) {
      case FactKind::input_in:
        ranged(254, fact.b, fact.c);
        return pick_input(fact.a, any);
      case FactKind::input_lost:
      case FactKind::input_stirs:
        return pick_input(fact.a, any);
      case FactKind::input_moving:
        return pick_input(fact.a, [](InputKind k) { return k == InputKind::scale || k == InputKind::gauge; });
      case FactKind::input_edge:
        return pick_input(
            fact.a, [](InputKind k) { return k == InputKind::button || k == InputKind::operator_button; });
      case FactKind::input_enters:
        if (!pick_input(fact.a, [](InputKind k) { return k == InputKind::keypad; })) return false;
        fact.keys.assign(dice_.from(1, t_.inputs[fact.a].longest), '0');
        for (char& key : fact.keys) key = static_cast<char>('0' + dice_.below(10));
        return true;
      case FactKind::prop_in:
        if (t_.props.empty()) return false;
        fact.a = which(t_.props.size());
        ranged(static_cast<std::uint32_t>(t_.props[fact.a].states.size()), fact.b, fact.c);
        return true;
      case FactKind::prop_solved:
        if (t_.props.empty()) return false;
        fact.a = which(t_.props.size());
        return true;
      case FactKind::counter_in:
        if (t_.counters.empty()) return false;
        fact.a = which(t_.counters.size());
        ranged(t_.counters[fact.a].span, fact.b, fact.c);
        return true;
      case FactKind::sequence_in:
        if (t_.sequences.empty()) return false;
        fact.a = which(t_.sequences.size());
        ranged(31, fact.b, fact.c);
        return true;
      case FactKind::timer_from:
        if (t_.timers.empty()) return false;
        fact.a = which(t_.timers.size());
        fact.b = dice_.from(1, t_.timers[fact.a].length + 1);
        return true;
      case FactKind::session_in:
        ranged(2, fact.a, fact.b);
        return true;
      case FactKind::session_from:
        fact.a = up_to(0xFFFFFE);
        return true;
      case FactKind::output_is:
        fact.a = which(t_.outputs.size());
        fact.b = t_.outputs[fact.a].voice ? dice_.below(2)
                 : dice_.coin()           ? dice_.below(3)
                                          : 128 + dice_.from(1, 99);
        return true;
      case FactKind::peer_lost:
      case FactKind::peer_stirs:
        if (t_.link.peers.empty()) return false;
        fact.a = which(t_.link.peers.size());
        return true;
      case FactKind::peer_says: {
        if (t_.link.peers.empty()) return false;
        fact.a = which(t_.link.peers.size());
        const Peer& peer = t_.link.peers[fact.a];
        const std::uint32_t bits = std::uint32_t{peer.input_bits} + peer.state_bits + peer.solved_bits;
        if (bits == 0) return false;
        fact.b = dice_.below(bits);
        return true;
      }
    }
    return false;
  }
  void facts() {
    for (std::uint32_t n = dice_.below(4) == 0 ? 150 : dice_.below(20); n > 0; --n) {
      RawFact fact;
      if (raw_fact(static_cast<FactKind>(dice_.below(16)), fact)) t_.facts.push_back(fact);
    }
    std::stable_sort(t_.facts.begin(), t_.facts.end(),
                     [](const RawFact& a, const RawFact& b) { return a.kind < b.kind; });
  }

  std::size_t sequence_facts_ = 0, derived_total_ = 0;
  /// A literal that may be read when so many facts of sequences and derived ones are worked out.
  Literal known(std::size_t sequence_facts, std::size_t derived) {
    const std::size_t raw = 1 + t_.facts.size();
    std::size_t fact = dice_.below(raw + sequence_facts + derived);
    if (fact >= raw + sequence_facts) fact += sequence_facts_ - sequence_facts;
    return literal(static_cast<std::uint32_t>(fact), dice_.coin());
  }
  Literal any_literal() { return known(sequence_facts_, derived_total_); }

  void sequences_and_derived() {
    derived_total_ = dice_.below(12);
    const std::uint32_t sequences = dice_.below(4);
    std::vector<std::uint32_t> before;
    for (std::uint32_t n = 0; n < sequences; ++n) before.push_back(dice_.below(derived_total_ + 1));
    std::sort(before.begin(), before.end());
    t_.sequences.resize(sequences);
    for (Sequence& s : t_.sequences) {
      s.facts.resize(dice_.below(4));
      sequence_facts_ += s.facts.size();
    }
    std::size_t facts = 0;
    std::size_t done = 0;
    for (std::uint32_t n = 0; n <= sequences; ++n) {
      const std::size_t until = n < sequences ? before[n] : derived_total_;
      for (; done < until; ++done) {
        DerivedFact fact;
        fact.literals.resize(dice_.from(1, 5));
        for (Literal& l : fact.literals) l = known(facts, done);
        fact.least = byte(1, static_cast<std::uint32_t>(fact.literals.size()));
        t_.derived.push_back(fact);
      }
      if (n == sequences) break;
      sequence(t_.sequences[n], before[n], facts);
      facts += t_.sequences[n].facts.size();
    }
  }
  void sequence(Sequence& s, std::uint32_t before, std::size_t facts) {
    s.has_each = dice_.coin();
    s.has_gaps = dice_.coin();
    s.has_within = dice_.coin();
    s.wrong_ignored = dice_.coin();
    s.place = place(15);
    s.derived_before = before;
    s.listens = known(facts, before);
    s.hush = known(facts, before);
    if (s.has_each) {
      s.each = known(facts, before);
      s.each_edge = dice_.coin();
      s.hold = up_to(0xFFFFFE);
    }
    if (s.has_gaps) s.gap_top = scans() + 1;
    if (s.has_within) s.within = scans();
    s.conditions.resize(dice_.from(1, 16));
    for (Literal& l : s.conditions) l = known(facts, before);
    s.edges = static_cast<std::uint16_t>(dice_.below(std::uint64_t{1} << s.conditions.size()));
    s.steps.resize(dice_.from(1, 32));
    for (std::size_t k = 0; k < s.steps.size(); ++k) {
      s.steps[k].condition = which(s.conditions.size());
      if (k == 0 || !s.has_gaps) continue;
      s.steps[k].gap_low = up_to(1000);
      if (dice_.coin()) s.steps[k].gap_high = s.steps[k].gap_low + up_to(0xFFFFFE - 1000);
    }
    for (SequenceFact& fact : s.facts) {
      fact.low = byte(0, 33);
      if (fact.low > 31) fact.low = static_cast<std::uint8_t>(222 + fact.low);  // 254, 255
      fact.high = fact.low > 31 ? fact.low : byte(fact.low, 31);
    }
  }

  void drives() {
    for (Prop& prop : t_.props) {
      prop.wakes = any_literal();
      const std::size_t first = t_.drives.size();
      for (std::uint32_t n = dice_.below(8) == 0 ? 40 : dice_.below(4); n > 0; --n)
        t_.drives.push_back({which(t_.outputs.size())});
      if (t_.drives.size() != first)
        for (std::uint32_t n = dice_.below(3); n > 0; --n) {
          const auto drive = static_cast<std::uint8_t>(first + dice_.below(t_.drives.size() - first));
          t_.tails.push_back({drive, level_of(t_.outputs[t_.drives[drive].output].voice), scans()});
        }
      prop.drives_end = static_cast<std::uint8_t>(t_.drives.size());
      prop.tails_end = static_cast<std::uint8_t>(t_.tails.size());
    }
  }

  std::size_t first_drive_ = 0, first_tail_ = 0;
  const Prop* prop_ = nullptr;

  int list() {
    if (dice_.below(4) == 0) return -1;
    const std::size_t voices = static_cast<std::size_t>(
        std::count_if(t_.outputs.begin(), t_.outputs.end(), [](const Output& o) { return o.voice; }));
    ActionList list;
    for (std::uint32_t n = dice_.from(1, 4); n > 0; --n) {
      Action action;
      action.kind = static_cast<ActionKind>(dice_.below(8));
      switch (action.kind) {
        case ActionKind::keep:
          if (first_drive_ == prop_->drives_end) continue;
          action.index = byte(static_cast<std::uint32_t>(first_drive_), prop_->drives_end - 1u);
          action.level = level_of(t_.outputs[t_.drives[action.index].output].voice);
          action.n = scans();
          break;
        case ActionKind::play:
          if (voices == 0 || t_.clips.empty()) continue;
          action.index = which(voices);
          action.level = which(t_.clips.size());
          action.n = dice_.from(1, 100);
          break;
        case ActionKind::quiet:
          if (voices == 0) continue;
          action.index = which(voices);
          break;
        case ActionKind::start:
        case ActionKind::stop:
          if (t_.timers.empty()) continue;
          action.index = which(t_.timers.size());
          break;
        case ActionKind::change:
          if (t_.counters.empty()) continue;
          action.index = which(t_.counters.size());
          action.by = static_cast<std::int8_t>(dice_.coin() ? dice_.from(1, 127) : 256 - dice_.from(1, 128));
          break;
        case ActionKind::set:
          if (t_.counters.empty()) continue;
          action.index = which(t_.counters.size());
          action.n = dice_.from(0, t_.counters[action.index].span);
          break;
        case ActionKind::send:
          if (t_.link.cues == 0) continue;
          action.index = which(t_.link.cues);
          break;
      }
      list.push_back(action);
    }
    if (list.empty()) return -1;
    t_.actions.push_back(list);
    return static_cast<int>(t_.actions.size() - 1);
  }

  Rule rule(std::size_t states) {
    Rule r;
    for (;;) {
      r.kind = static_cast<RuleKind>(dice_.below(4));
      r.target = r.kind != RuleKind::every && dice_.coin() ? byte(1, static_cast<std::uint32_t>(states))
                                                           : std::uint8_t{0};
      r.actions = list();
      if (r.target != 0 || r.actions >= 0) break;
    }
    const bool reads = r.kind == RuleKind::level || r.kind == RuleKind::edge;
    if (reads) r.condition = any_literal();
    if (r.kind == RuleKind::age) r.n = scans();
    if (r.kind == RuleKind::level || r.kind == RuleKind::every) r.n = up_to(0xFFFFFE);
    if (r.kind == RuleKind::every || (r.kind == RuleKind::level && r.target == 0 && dice_.coin()))
      r.a = scans();
    if (r.kind == RuleKind::every || (r.kind == RuleKind::level && (r.target == 0 || r.n != 0))) {
      const std::uint32_t top = r.target != 0 ? r.n + 1 : r.a != 0 ? r.n + r.a : r.n + 2;
      r.run_width = top < 255 ? 1 : top < 65535 ? 2 : 4;
    }
    return r;
  }
  Body body(std::size_t states) {
    Body b;
    if (dice_.coin()) b.enter = list();
    if (dice_.coin()) b.leave = list();
    if (dice_.coin()) {
      b.locals_size = byte(1, 20);
      b.locals = place(b.locals_size);
    }
    std::uint32_t runs = 0;
    for (std::uint32_t n = dice_.below(4); n > 0; --n) {
      b.rules.push_back(rule(states));
      runs += b.rules.back().run_width;
    }
    if (runs != 0) b.runs = place(runs);
    for (std::uint32_t n = dice_.below(3); n > 0; --n) {
      Keep keep;
      keep.output = which(t_.outputs.size());
      keep.level = level_of(t_.outputs[keep.output].voice);
      keep.has_while = dice_.coin();
      if (keep.has_while) keep.while_ = any_literal();
      if (first_tail_ != prop_->tails_end && dice_.coin())
        keep.tail =
            static_cast<int>(dice_.from(static_cast<std::uint32_t>(first_tail_), prop_->tails_end - 1u));
      b.keeps.push_back(keep);
    }
    return b;
  }
  void bodies() {
    for (Prop& prop : t_.props) {
      prop_ = &prop;
      const std::size_t first = t_.bodies.size();
      for (State& state : prop.states) {
        for (std::size_t k = first; k < t_.bodies.size(); ++k)
          if (dice_.below(3) == 0 && state.bodies.size() < 8)
            state.bodies.push_back(static_cast<std::uint16_t>(k));
        state.bodies.push_back(static_cast<std::uint16_t>(t_.bodies.size()));
        t_.bodies.push_back(body(prop.states.size()));
      }
      first_drive_ = prop.drives_end;
      first_tail_ = prop.tails_end;
    }
  }
  void own_bits() {
    for (std::uint32_t n = dice_.below(30); n > 0; --n) {
      RawFact fact;
      const std::uint32_t roll = dice_.below(14);
      const FactKind kind = roll == 13 ? FactKind::sequence_in : static_cast<FactKind>(roll);
      if (kind == FactKind::input_edge || kind == FactKind::input_enters || kind == FactKind::input_stirs)
        continue;
      if (raw_fact(kind, fact)) t_.link.bits.push_back(fact);
    }
    t_.link.input_bits = byte(0, static_cast<std::uint32_t>(t_.link.bits.size()));
    t_.link.state_bits = static_cast<std::uint8_t>(t_.link.bits.size() - t_.link.input_bits);
  }
  void session() {
    Session& s = t_.session;
    s.starts = t_.controller != 0 ? StartKind::hears : static_cast<StartKind>(dice_.below(4));
    if (s.starts == StartKind::when || s.starts == StartKind::edge) s.condition = any_literal();
    if (s.starts == StartKind::when) {
      s.hold = up_to(0xFFFFFE);
      s.hush = any_literal();
    }
    s.length = up_to(0xFFFFFE);
    if (t_.controller == 0)
      for (std::size_t n = 0; n < t_.props.size(); ++n)
        if (dice_.coin()) s.finish.push_back({0, static_cast<std::uint8_t>(n)});
    for (std::uint32_t n = dice_.below(4); n > 0; --n) {
      Ready ready{any_literal(), up_to(1000), 0};
      if (ready.hold != 0) ready.place = place(4);
      t_.readies.push_back(ready);
    }
    for (std::uint32_t n = dice_.below(4); n > 0; --n) t_.tells.push_back(any_literal());
  }
};

}  // namespace

Table random_table(std::uint64_t seed) { return Maker(seed).make(); }

}  // namespace lw::testing

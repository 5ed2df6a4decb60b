// Rows as lines. See build.hpp.
#include <fmt/format.h>

#include <sstream>

#include "build.hpp"

namespace lw::test {
namespace {

const char* name(rows::InputKind kind) {
  switch (kind) {
#define LW_INPUT_KIND(name, code, sentence) \
  case rows::InputKind::name:               \
    return #name;
#include "runtime/table.def"
  }
  return "?";
}
const char* name(rows::FactKind kind) {
  switch (kind) {
#define LW_FACT_KIND(name, code, operands, sentence) \
  case rows::FactKind::name:                         \
    return #name;
#include "runtime/table.def"
  }
  return "?";
}
const char* name(rows::LevelKind kind) {
  switch (kind) {
#define LW_LEVEL_KIND(name, code, sentence) \
  case rows::LevelKind::name:               \
    return #name;
#include "runtime/table.def"
  }
  return "?";
}
const char* name(rows::RuleKind kind) {
  switch (kind) {
#define LW_RULE_KIND(name, code, sentence) \
  case rows::RuleKind::name:               \
    return #name;
#include "runtime/table.def"
  }
  return "?";
}
const char* name(rows::ActionKind kind) {
  switch (kind) {
#define LW_ACTION(name, code, operands, sentence) \
  case rows::ActionKind::name:                    \
    return #name;
#include "runtime/table.def"
  }
  return "?";
}
const char* name(rows::StartKind kind) {
  switch (kind) {
#define LW_START_KIND(name, code, sentence) \
  case rows::StartKind::name:               \
    return #name;
#include "runtime/table.def"
  }
  return "?";
}

std::string raw_text(const rows::RawFact& raw) {
  std::string text = fmt::format("{} {}", name(raw.kind), raw.a);
  switch (raw.kind) {
    case rows::FactKind::input_in:
    case rows::FactKind::prop_in:
    case rows::FactKind::counter_in:
    case rows::FactKind::sequence_in:
      return text + fmt::format(" {}..{}", raw.b, raw.c);
    case rows::FactKind::timer_from:
    case rows::FactKind::output_is:
    case rows::FactKind::session_in:
    case rows::FactKind::peer_says:
      return text + fmt::format(" {}", raw.b);
    case rows::FactKind::input_enters:
      return text + " " + raw.keys;
    default:
      return text;
  }
}

class Writer {
 public:
  explicit Writer(const ControllerTable& table) : t_(table), rows_(table.rows) {}
  std::string write();

 private:
  template <class... Args>
  void line(const char* format, const Args&... args) {
    text_ += fmt::format(fmt::runtime(format), args...) + "\n";
  }
  std::string literal(rows::Literal l) const {
    const std::string& called = t_.symbols.facts.at(rows::fact_of(l)).name;
    return fmt::format("{}[{}]", rows::negated(l) ? "not " : "", called);
  }
  std::string level(std::size_t n) const {
    const rows::Level& row = rows_.levels.at(n);
    if (row.kind == rows::LevelKind::playing) return "playing " + t_.symbols.clips.at(row.value).name;
    return row.value != 0 ? fmt::format("{} {}", name(row.kind), row.value) : name(row.kind);
  }
  std::string output(std::size_t n) const { return t_.symbols.outputs.at(n).output.name; }
  std::string action(const rows::Action& a) const;
  std::string actions(int n) const {
    if (n < 0) return "";
    std::string text;
    for (const rows::Action& a : rows_.actions.at(static_cast<std::size_t>(n)))
      text += (text.empty() ? "" : ", ") + action(a);
    return fmt::format(" {{{}}}", text);
  }
  void sequences();
  void props();
  void body(std::size_t n);

  const ControllerTable& t_;
  const rows::Table& rows_;
  std::string text_;
};

std::string Writer::action(const rows::Action& a) const {
  switch (a.kind) {
    case rows::ActionKind::keep:
      return fmt::format("keep {} {} for {}", output(rows_.drives.at(a.index).output), level(a.level), a.n);
    case rows::ActionKind::play:
      return fmt::format("play {} on {} at {}", t_.symbols.clips.at(a.level).name, output(a.index), a.n);
    case rows::ActionKind::quiet:
      return "quiet " + output(a.index);
    case rows::ActionKind::start:
    case rows::ActionKind::stop:
      return fmt::format("{} {}", name(a.kind), t_.symbols.timers.at(a.index).name);
    case rows::ActionKind::change:
      return fmt::format("change {} by {}", t_.symbols.counters.at(a.index).name, int{a.by});
    case rows::ActionKind::set:
      return fmt::format("set {} to {}", t_.symbols.counters.at(a.index).name, a.n);
    default:
      return "send " + t_.symbols.cues.at(a.index).name;
  }
}

void Writer::sequences() {
  for (std::size_t n = 0; n < rows_.sequences.size(); ++n) {
    const rows::Sequence& s = rows_.sequences[n];
    std::string text = fmt::format("sequence {} at {} after {} derived, listens {}, hush {}",
                                   t_.symbols.sequences.at(n).name, s.place, s.derived_before,
                                   literal(s.listens), literal(s.hush));
    if (s.has_each)
      text += fmt::format(", each{} {} hold {}", s.each_edge ? " edge" : "", literal(s.each), s.hold);
    if (s.has_gaps) text += fmt::format(", gaps to {}", s.gap_top);
    if (s.has_within) text += fmt::format(", within {}", s.within);
    if (s.wrong_ignored) text += ", wrong ignored";
    line("{}", text);
    for (std::size_t k = 0; k < s.conditions.size(); ++k)
      line("  condition{} {}", ((s.edges >> k) & 1) != 0 ? " edge" : "", literal(s.conditions[k]));
    text.clear();
    for (const rows::SequenceStep& step : s.steps)
      text += s.has_gaps ? fmt::format(" {}({}..{})", step.condition, step.gap_low, step.gap_high)
                         : fmt::format(" {}", step.condition);
    line("  steps{}", text);
    for (const rows::SequenceFact& own : s.facts) line("  own {}..{}", own.low, own.high);
  }
}

void Writer::body(std::size_t n) {
  const rows::Body& b = rows_.bodies.at(n);
  std::string text = fmt::format("body {} [{}]", n, t_.symbols.bodies.at(n).body.name);
  if (b.locals_size != 0) text += fmt::format(" locals {}+{}", b.locals, b.locals_size);
  for (const rows::Rule& rule : b.rules)
    if (rule.run_width != 0) {
      text += fmt::format(" runs {}", b.runs);
      break;
    }
  if (b.enter >= 0) text += " enter" + actions(b.enter);
  if (b.leave >= 0) text += " leave" + actions(b.leave);
  line("{}", text);
  for (const rows::Rule& r : b.rules) {
    text = fmt::format("  rule {}", name(r.kind));
    if (r.kind == rows::RuleKind::level || r.kind == rows::RuleKind::edge) text += " " + literal(r.condition);
    if (r.n != 0) text += fmt::format(" n {}", r.n);
    if (r.a != 0) text += fmt::format(" a {}", r.a);
    if (r.run_width != 0) text += fmt::format(" run {}", r.run_width);
    text += actions(r.actions);
    if (r.target != 0) text += fmt::format(" -> {}", r.target);
    line("{}", text);
  }
  for (const rows::Keep& k : b.keeps) {
    text = fmt::format("  keep {} {}", output(k.output), level(k.level));
    if (k.has_while) text += " while " + literal(k.while_);
    if (k.tail >= 0) text += fmt::format(" tail {}", k.tail);
    line("{}", text);
  }
}

void Writer::props() {
  for (std::size_t n = 0; n < rows_.drives.size(); ++n)
    line("drive {} {}", n, output(rows_.drives[n].output));
  for (const rows::Tail& tail : rows_.tails)
    line("tail drive {} {} for {}", tail.drive, level(tail.level), tail.length);
  for (std::size_t n = 0; n < rows_.props.size(); ++n) {
    const rows::Prop& p = rows_.props[n];
    std::string text = fmt::format("prop {} start {} goal {} wakes {}", t_.symbols.props.at(n).prop.name,
                                   p.start, p.goal, literal(p.wakes));
    if (p.locals_size != 0) text += fmt::format(" locals {}+{}", p.locals, p.locals_size);
    if (p.age != 0xFFFF) text += fmt::format(" age {} to {}", p.age, p.age_top);
    text += fmt::format(" drives to {} tails to {}", p.drives_end, p.tails_end);
    line("{}", text);
    for (const rows::State& state : p.states) {
      text = state.goal ? "  state goal" : "  state";
      for (const std::uint16_t b : state.bodies) text += fmt::format(" {}", b);
      line("{}", text);
    }
  }
  for (std::size_t n = 0; n < rows_.bodies.size(); ++n) body(n);
}

std::string Writer::write() {
  line("table scan {} arena {} controller {} of {}", rows_.scan_ms, rows_.arena, rows_.controller,
       rows_.controllers);
  for (const rows::Input& input : rows_.inputs) {
    std::string text = fmt::format("input {} {} steady {} lost {}", name(input.kind), input.terminal,
                                   input.steady, input.lost_after);
    if (input.circle != 0) text += fmt::format(" circle {}", input.circle);
    if (!input.edges.empty()) text += " edges";
    for (const std::int32_t edge : input.edges) text += fmt::format(" {}", edge);
    if (input.kind == rows::InputKind::keypad)
      text += fmt::format(" gap {} longest {}", input.gap, input.longest);
    line("{}", text);
  }
  for (const std::string& tag : rows_.tags) line("tag {}", tag);
  for (const rows::Output& output : rows_.outputs)
    line("output {} {} rest {} odds {}", output.voice ? "voice" : "level", output.terminal,
         level(output.rest), level(output.odds));
  for (const std::uint32_t clip : rows_.clips) line("clip {}", clip);
  for (const rows::Timer& timer : rows_.timers) line("timer at {} length {}", timer.place, timer.length);
  for (const rows::Counter& counter : rows_.counters)
    line("counter at {} span {}", counter.place, counter.span);
  for (std::size_t n = 0; n < rows_.facts.size(); ++n)
    line("fact {} [{}]", raw_text(rows_.facts[n]), t_.symbols.facts.at(n + 1).name);
  sequences();
  for (const rows::DerivedFact& fact : rows_.derived) {
    std::string text = fmt::format("derived {} of", fact.least);
    for (const rows::Literal l : fact.literals) text += " " + literal(l);
    line("{}", text);
  }
  props();
  line("link cues {} every {} bits {} {} {}", rows_.link.cues, rows_.link.send_every, rows_.link.input_bits,
       rows_.link.state_bits, rows_.link.solved_bits);
  for (const rows::Peer& peer : rows_.link.peers)
    line("peer {} lost {} bits {} {} {}", peer.controller, peer.lost_after, peer.input_bits, peer.state_bits,
         peer.solved_bits);
  for (std::size_t n = 0; n < rows_.link.bits.size(); ++n)
    line("bit {} [{}]", raw_text(rows_.link.bits[n]), t_.symbols.own_bits.at(n).name);
  std::string text = fmt::format("session {} length {}", name(rows_.session.starts), rows_.session.length);
  if (rows_.session.condition != rows::kTrue)
    text += fmt::format(" {} hold {}", literal(rows_.session.condition), rows_.session.hold);
  if (rows_.session.hush != rows::kFalse) text += fmt::format(" hush {}", literal(rows_.session.hush));
  for (const rows::Finish& finish : rows_.session.finish)
    text += fmt::format(" finish {}:{}", finish.where, finish.which);
  line("{}", text);
  for (std::size_t n = 0; n < rows_.readies.size(); ++n)
    line("ready {} hold {} at {} \"{}\"", literal(rows_.readies[n].condition), rows_.readies[n].hold,
         rows_.readies[n].place, t_.symbols.readies.at(n).name);
  for (std::size_t n = 0; n < rows_.tells.size(); ++n)
    line("tell {} \"{}\"", literal(rows_.tells[n]), t_.symbols.tells.at(n).name);
  return text_;
}

}  // namespace

std::string text_of(const ControllerTable& table) { return Writer(table).write(); }

std::string lines_of(const ControllerTable& table, const std::string& word) {
  std::istringstream text(text_of(table));
  std::string found;
  bool within = false;
  for (std::string line; std::getline(text, line);) {
    if (line.rfind("  ", 0) != 0) within = line.rfind(word + " ", 0) == 0;
    if (within) found += line + "\n";
  }
  return found;
}

std::string text_of(const Question& question, const RoomTables& tables) {
  std::string text;
  for (const Ask& ask : question) {
    if (!text.empty()) text += ", ";
    const std::string& controller = tables.controllers.at(ask.controller).symbols.controller;
    switch (ask.kind) {
      case Ask::Kind::fact:
        text += fmt::format("{} {}", controller, raw_text(ask.fact));
        break;
      case Ask::Kind::scan_fact:
        text += fmt::format("{} scan [{}]", controller,
                            tables.controllers[ask.controller].symbols.facts.at(ask.a).name);
        break;
      case Ask::Kind::constant:
        text += ask.a != 0 ? "true" : "false";
        break;
      case Ask::Kind::not_:
        text += "not";
        break;
      case Ask::Kind::at_least:
        text += fmt::format("at least {} of {}", ask.a, ask.b);
        break;
      case Ask::Kind::exactly:
        text += fmt::format("exactly {} of {}", ask.a, ask.b);
        break;
    }
  }
  return text;
}

}  // namespace lw::test

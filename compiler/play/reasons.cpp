// See reasons.hpp.
#include "play/reasons.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <deque>

namespace lw {

using rows::FactKind;
using rows::RawFact;

namespace {

bool passes(const rows::Level& level, std::uint8_t test) {
  switch (test) {
    case LW_OUTPUT_is_off:
      return level.kind == rows::LevelKind::off;
    case LW_OUTPUT_is_on:
      return level.kind == rows::LevelKind::on || level.kind == rows::LevelKind::playing;
    case LW_OUTPUT_is_blinking:
      return level.kind == rows::LevelKind::blinking;
    default:
      return level.kind == rows::LevelKind::at && level.value == test - LW_OUTPUT_is_at;
  }
}

/// Several clauses as one, each said once, and no more than three of them.
std::string together(std::vector<std::string> clauses) {
  std::vector<std::string> once;
  for (std::string& clause : clauses)
    if (!clause.empty() && std::find(once.begin(), once.end(), clause) == once.end())
      once.push_back(std::move(clause));
  if (once.size() > 3) once.resize(3);
  std::string text;
  for (const std::string& clause : once) text += (text.empty() ? "" : ", and ") + clause;
  return text;
}

/// "only 1 of the 3 held; door was ajar", "2 of the 3 held: door was shut, and bell was held".
std::string counted(std::ptrdiff_t hold, std::size_t all, const char* only, const char* joint,
                    std::vector<std::string> clauses) {
  const std::string why = together(std::move(clauses));
  return fmt::format("{}{} of the {} held{}{}", only, hold, all, why.empty() ? "" : joint, why);
}

}  // namespace

// ---- Questions
// ------------------------------------------------------------------------------------------------------

struct Reasons::Node {
  const Ask* ask = nullptr;
  std::vector<Node> parts;
  bool holds = false;
};

std::string Reasons::why_not(const Question& question, const std::string& as_written) {
  as_written_ = question.size() == 1 ? as_written : "";
  std::vector<Node> nodes;
  for (const Ask& ask : question) {
    Node node;
    node.ask = &ask;
    const std::size_t parts = ask.kind == Ask::Kind::not_                                         ? 1
                              : ask.kind == Ask::Kind::at_least || ask.kind == Ask::Kind::exactly ? ask.b
                                                                                                  : 0;
    node.parts.assign(std::make_move_iterator(nodes.end() - static_cast<std::ptrdiff_t>(parts)),
                      std::make_move_iterator(nodes.end()));
    nodes.resize(nodes.size() - parts);
    const auto hold = static_cast<std::uint32_t>(
        std::count_if(node.parts.begin(), node.parts.end(), [](const Node& part) { return part.holds; }));
    switch (ask.kind) {
      case Ask::Kind::fact:
        node.holds = run_.holds(ask.controller, ask.fact);
        break;
      case Ask::Kind::scan_fact:
        node.holds = run_.was(ask.controller, ask.a);
        break;
      case Ask::Kind::constant:
        node.holds = ask.a != 0;
        break;
      case Ask::Kind::not_:
        node.holds = hold == 0;
        break;
      case Ask::Kind::at_least:
        node.holds = hold >= ask.a;
        break;
      case Ask::Kind::exactly:
        node.holds = hold == ask.a;
        break;
    }
    nodes.push_back(std::move(node));
  }
  return of(nodes.back(), true);
}

std::string Reasons::of(const Node& node, bool wanted) const {
  const auto hold =
      std::count_if(node.parts.begin(), node.parts.end(), [](const Node& part) { return part.holds; });
  const auto each = [&](bool that_hold) {
    std::vector<std::string> clauses;
    for (const Node& part : node.parts)
      if (part.holds == that_hold) clauses.push_back(of(part, wanted));
    return clauses;
  };
  const auto held = [&] {
    std::vector<std::string> clauses;
    for (const Node& part : node.parts)
      if (part.holds) clauses.push_back(of(part, false));
    return clauses;
  };
  switch (node.ask->kind) {
    case Ask::Kind::fact:
      return of(node.ask->controller, node.ask->fact, wanted, kDeep);
    case Ask::Kind::scan_fact:
      return of(node.ask->controller, rows::literal(node.ask->a), wanted, kDeep);
    case Ask::Kind::constant:
      return wanted ? "that can never be so" : "that is always so";
    case Ask::Kind::not_:
      return of(node.parts[0], !wanted);
    case Ask::Kind::at_least: {
      const bool all = node.ask->a == node.ask->b;
      const bool any = node.ask->a == 1;
      // Of what must all hold the first that does not tells enough; of a choice, all that failed.
      if (wanted && all) return each(false).front();
      if (wanted && any) return together(each(false));
      if (!wanted && any) return each(true).front();
      if (!wanted && all) return together(each(true));
      if (wanted) return counted(hold, node.ask->b, "only ", "; ", each(false));
      return counted(hold, node.ask->b, "", ": ", held());
    }
    case Ask::Kind::exactly: {
      const bool more = hold > static_cast<std::ptrdiff_t>(node.ask->a) || !wanted;
      return more ? counted(hold, node.ask->b, "", ": ", held())
                  : counted(hold, node.ask->b, "only ", "; ", each(false));
    }
  }
  return "";
}

// ---- Facts
// ----------------------------------------------------------------------------------------------------------

std::string Reasons::of(std::size_t c, rows::Literal literal, bool wanted, int depth) const {
  if (rows::negated(literal)) wanted = !wanted;
  const rows::Table& rows = run_.rows(c);
  std::uint32_t number = rows::fact_of(literal);
  if (number == 0) return wanted ? "" : "that is always so";
  --number;
  if (number < rows.facts.size()) return of(c, rows.facts[number], wanted, depth);
  number -= static_cast<std::uint32_t>(rows.facts.size());
  for (const rows::Sequence& sequence : rows.sequences) {
    if (number < sequence.facts.size()) return of_sequence(c, rows::fact_of(literal), wanted);
    number -= static_cast<std::uint32_t>(sequence.facts.size());
  }
  return of_derived(c, rows.derived[number], wanted, depth);
}

std::string Reasons::of_derived(std::size_t c, const rows::DerivedFact& fact, bool wanted, int depth) const {
  const auto each = [&](bool that_hold) {
    std::vector<std::string> clauses;
    for (const rows::Literal literal : fact.literals)
      if (run_.literal_was(c, literal) == that_hold) clauses.push_back(of(c, literal, wanted, depth));
    return clauses;
  };
  const bool all = fact.least == fact.literals.size();
  const bool any = fact.least == 1;
  const std::vector<std::string> that_matter = each(!wanted);
  if (that_matter.empty()) return "";
  if (wanted ? all : any) return that_matter.front();
  if (wanted ? any : all) return together(that_matter);
  const std::size_t hold = wanted ? fact.literals.size() - that_matter.size() : that_matter.size();
  return fmt::format("{}{} of the {} held", wanted ? "only " : "", hold, fact.literals.size());
}

std::string Reasons::of_sequence(std::size_t c, std::uint32_t own_fact, bool wanted) const {
  const rows::Table& rows = run_.rows(c);
  std::size_t number = own_fact - 1 - rows.facts.size();
  std::size_t n = 0;
  while (number >= rows.sequences[n].facts.size()) number -= rows.sequences[n++].facts.size();
  const std::string& name = run_.symbols(c).sequences[n].name;
  switch (rows.sequences[n].facts[number].low) {
    case rows::kSequenceDone:
      return wanted ? fmt::format("{} was not done in that scan: it {}", name, stands(c, n))
                    : fmt::format("{} was done in that scan", name);
    case rows::kSequenceWrong:
      return wanted ? fmt::format("{} was not wrong in that scan: it {}", name, stands(c, n))
                    : fmt::format("{} was wrong in that scan", name);
    default:
      return fmt::format("{} {}", name, stands(c, n));
  }
}

std::string Reasons::stands(std::size_t c, std::size_t sequence) const {
  return fmt::format("stood at step {} of {}", run_.steps_met(c, sequence),
                     run_.rows(c).sequences[sequence].steps.size());
}

std::string Reasons::of(std::size_t c, const RawFact& fact, bool wanted, int depth) const {
  const auto low = static_cast<std::uint8_t>(fact.b);
  const auto high = static_cast<std::uint8_t>(fact.c);
  const char* const be = wanted ? "was not" : "was";
  switch (fact.kind) {
    case FactKind::input_in:
      return of_input(c, fact, wanted);
    case FactKind::input_lost:
      return fmt::format("{} {} lost", words_.input(c, fact.a), be);
    case FactKind::input_moving:
      return fmt::format("{} {}", words_.input(c, fact.a), wanted ? "was steady" : "was moving");
    case FactKind::input_edge:
      return fmt::format("{} {} pressed in that scan", words_.input(c, fact.a), be);
    case FactKind::input_enters:
      return fmt::format("\"{}\" {} just entered on {}", fact.keys, be, words_.input(c, fact.a));
    case FactKind::input_stirs:
      return fmt::format("{} {} just lost or found", words_.input(c, fact.a), be);
    case FactKind::prop_in:
      return of_prop(c, fact.a, low, high, wanted, depth);
    case FactKind::prop_solved:
      return of_solved(c, fact.a, wanted, depth);
    case FactKind::counter_in:
      return fmt::format("{} was {}", run_.symbols(c).counters[fact.a].name, words_.counter(c, fact.a));
    case FactKind::timer_from:
      return of_timer(c, fact.a);
    case FactKind::sequence_in:
      return fmt::format("{} {}", run_.symbols(c).sequences[fact.a].name, stands(c, fact.a));
    case FactKind::session_in:
    case FactKind::session_from:
      return of_session(fact, c);
    case FactKind::output_is:
      return of_output(c, fact.a, low, wanted, depth);
    case FactKind::peer_lost:
    case FactKind::peer_says:
    case FactKind::peer_stirs:
      return of_peer(c, fact, wanted, depth);
  }
  return "";
}

std::string Reasons::of_input(std::size_t c, const RawFact& fact, bool wanted) const {
  const std::string& name = words_.input(c, fact.a);
  if (run_.lost(c, fact.a)) return name + " was lost";
  const std::optional<std::uint8_t> value = run_.value(c, fact.a);
  if (!value) return name + " had no value yet";
  const rows::InputKind kind = run_.rows(c).inputs[fact.a].kind;
  if (kind == rows::InputKind::scale || kind == rows::InputKind::gauge) return of_scale(c, fact, wanted);
  const lw_raw raw = run_.raw(c, fact.a);
  const bool behind = raw.good == 0 || raw.value != *value;
  const std::string word = words_.value(c, fact.a);
  if (kind == rows::InputKind::reader || kind == rows::InputKind::keypad)
    return fmt::format("{} {} {}", name, behind ? "still read" : "read", word);
  return fmt::format("{} {} {}", name, behind ? "still counted as" : "was", word);
}

std::string Reasons::of_scale(std::size_t c, const RawFact& fact, bool wanted) const {
  const rows::Input& row = run_.rows(c).inputs[fact.a];
  std::string name = words_.fact(c, fact);
  // A range that goes round its circle is a fact in two parts, and outside of both.
  const std::size_t part = name.find(" (part ");
  const bool is_part = part != std::string::npos;
  if (is_part) name.resize(part);
  const std::string range = !name.empty()          ? "`" + name + "`"
                            : !as_written_.empty() ? "`" + as_written_ + "`"
                                                   : "what was expected";
  const std::string read = fmt::format("{} read {}", words_.input(c, fact.a), words_.reading(c, fact.a));
  if (!wanted) return fmt::format("{}, and counted as {}", read, range);
  const std::int32_t raw = run_.raw(c, fact.a).value;
  // Cells low to high lie from the edge below the first to the one above the last.
  const bool below = fact.b > 0 && raw < row.edges[fact.b - 1];
  const bool above = fact.c < row.edges.size() && raw >= row.edges[fact.c];
  if (is_part && (below || above)) return fmt::format("{}, outside {}", read, range);
  if (below)
    return fmt::format("{}, and {} begins at {}", read, range,
                       words_.divisions(c, fact.a, row.edges[fact.b - 1]));
  if (above)
    return fmt::format("{}, and {} ends at {}", read, range,
                       words_.divisions(c, fact.a, row.edges[fact.c] - 1));
  if (run_.moving(c, fact.a)) return read + " and had not settled yet";
  return fmt::format("{}, no more than one division from where it last settled, outside {}", read, range);
}

/// One colon a sentence; what lies behind it is told on with a word.
const char* Reasons::colon(int depth) { return depth == kDeep ? ": " : ", since "; }

std::string Reasons::still(std::size_t c, std::size_t prop) const {
  return run_.state(c, prop) == 0 || firings_.since_ms(c, prop) < since_ms_ ? "still " : "";
}

std::string Reasons::of_prop(std::size_t c, std::size_t prop, std::uint8_t low, std::uint8_t high,
                             bool wanted, int depth) const {
  const std::uint8_t now = run_.state(c, prop);
  const std::string name = words_.prop(c, prop);
  if (!wanted) return fmt::format("{} was {}", name, words_.state(c, prop, now));
  const std::string way =
      high == 0 ? ""
                : way_to(
                      c, prop, [&](std::uint8_t state) { return state >= low && state <= high; }, depth);
  return fmt::format("{} was {}{}{}{}", name, still(c, prop), words_.state(c, prop, now),
                     way.empty() ? "" : colon(depth), way);
}

std::string Reasons::of_solved(std::size_t c, std::size_t prop, bool wanted, int depth) const {
  const std::string name = words_.prop(c, prop);
  if (!wanted) return name + " was solved";
  const std::vector<rows::State>& states = run_.rows(c).props[prop].states;
  const std::string way = way_to(
      c, prop, [&](std::uint8_t state) { return states[state - 1u].goal; }, depth);
  return fmt::format("{} was not solved but {}{}{}{}", name, still(c, prop),
                     words_.state(c, prop, run_.state(c, prop)), way.empty() ? "" : colon(depth), way);
}

std::string Reasons::of_timer(std::size_t c, std::size_t timer) const {
  const std::string& name = run_.symbols(c).timers[timer].name;
  const std::uint32_t length = run_.rows(c).timers[timer].length;
  const std::uint32_t value = run_.timer(c, timer);
  if (value == 0) return name + " was stopped";
  if (value > length) return name + " was done";
  return fmt::format("{} had run {} of {}", name,
                     clock_words(std::int64_t{value - 1} * run_.table(c).scan_ms), words_.scans(c, length));
}

std::string Reasons::of_session(const RawFact& fact, std::size_t c) const {
  static const char* const kPhases[] = {"was idle", "was running", "had ended"};
  const std::string text = fmt::format("the session {}", kPhases[run_.phase(c)]);
  if (fact.kind == FactKind::session_in || run_.phase(c) == 0) return text;
  // The scans gone are the largest number for which the fact `at least so many` holds.
  RawFact past = fact;
  std::uint32_t gone = 0;
  for (std::uint32_t bit = 1u << 27; bit != 0; bit >>= 1) {
    past.a = gone | bit;
    if (run_.holds(c, past)) gone = past.a;
  }
  return fmt::format("{}, {} gone", text, clock_words(std::int64_t{gone} * run_.table(c).scan_ms));
}

std::string Reasons::of_peer(std::size_t c, const RawFact& fact, bool wanted, int depth) const {
  const std::size_t other = run_.rows(c).link.peers[fact.a].controller;
  if (fact.kind != FactKind::peer_says) {
    const char* const what = fact.kind == FactKind::peer_lost ? "lost" : "just lost or found";
    return fmt::format("{} {} {} to {}", words_.controller(other), wanted ? "was not" : "was", what,
                       words_.controller(c));
  }
  const RawFact& said = run_.rows(other).link.bits[fact.b];
  const std::string& name = run_.symbols(other).own_bits[fact.b].name;
  RawFact silent;
  silent.kind = FactKind::peer_lost;
  silent.a = fact.a;
  if (run_.holds(other, said) == wanted && run_.holds(c, silent))
    return fmt::format("{} was lost to {}, and `{}` {}", words_.controller(other), words_.controller(c), name,
                       wanted ? "did not count" : "still counted");
  if (run_.holds(other, said) == wanted)
    return wanted ? fmt::format("`{}` had not reached {} yet", name, words_.controller(c))
                  : fmt::format("`{}` still counted on {}", name, words_.controller(c));
  return of(other, said, wanted, depth);
}

// ---- Rules
// ----------------------------------------------------------------------------------------------------------

/// The nearest state for which `is_it`, by the fewest moves, then in text order: what keeps the first of
/// them.
template <class IsIt>
std::string Reasons::way_to(std::size_t c, std::size_t prop, IsIt is_it, int depth) const {
  if (depth == 0) return "";
  const rows::Prop& row = run_.rows(c).props[prop];
  const std::uint8_t now = run_.state(c, prop);
  if (now == 0) {
    if (run_.phase(c) == 0) return "the session was idle";
    return run_.literal_was(c, row.wakes) ? "" : of(c, row.wakes, true, depth - 1);
  }
  // Which rule of the present state each state is first reached by.
  std::vector<std::optional<RuleSeat>> by(row.states.size() + 1);
  std::deque<std::uint8_t> queue = {now};
  while (!queue.empty()) {
    const std::uint8_t state = queue.front();
    queue.pop_front();
    for (const std::uint16_t body : row.states[state - 1u].bodies) {
      const std::vector<rows::Rule>& rules = run_.rows(c).bodies[body].rules;
      for (std::size_t r = 0; r < rules.size(); ++r) {
        const std::uint8_t to = rules[r].target;
        if (to == 0 || to == now || by[to]) continue;
        by[to] = state == now ? RuleSeat{static_cast<std::uint8_t>(c), body, static_cast<std::uint16_t>(r)}
                              : *by[state];
        if (is_it(to)) return not_due(c, prop, *by[to], depth - 1);
        queue.push_back(to);
      }
    }
  }
  return "";
}

std::string Reasons::not_due(std::size_t c, std::size_t prop, RuleSeat seat, int depth) const {
  const rows::Rule& rule = run_.rows(c).bodies[seat.body].rules[seat.rule];
  const std::int64_t scan_ms = run_.table(c).scan_ms;
  if (rule.kind == rows::RuleKind::age)
    return firings_.age(c, prop) >= rule.n
               ? ""
               : fmt::format("that takes {}, and {} had gone", words_.scans(c, rule.n),
                             clock_words(firings_.age(c, prop) * scan_ms));
  if (rule.kind == rows::RuleKind::every) return "";
  if (!run_.literal_was(c, rule.condition)) return of(c, rule.condition, true, depth);
  const std::optional<std::uint32_t> run = firings_.run_of(seat);
  if (!run || *run >= rule.n) return "";
  return fmt::format("`{}` had lasted {} of {}", words_.literal(c, rule.condition),
                     clock_words(*run * scan_ms), words_.scans(c, rule.n));
}

std::string Reasons::of_output(std::size_t c, std::size_t output, std::uint8_t test, bool wanted,
                               int depth) const {
  std::string text = fmt::format("{} was {}", words_.output(c, output), words_.standing(c, output));
  const bool blinking = !run_.rows(c).outputs[output].voice &&
                        run_.rows(c).levels[run_.level(c, output)].kind == rows::LevelKind::blinking;
  if (blinking && test == LW_OUTPUT_is_on) text += wanted ? ", in its dark half" : ", in its bright half";
  if (blinking && test == LW_OUTPUT_is_off) text += wanted ? ", in its bright half" : ", in its dark half";
  if (!wanted || depth == 0) return text;
  const std::string why = unasked(c, output, test, depth);
  return why.empty() ? text : text + "; " + why;
}

/// Why no prop asks the output for a level that passes the test, by the first place in the text that would.
std::string Reasons::unasked(std::size_t c, std::size_t output, std::uint8_t test, int depth) const {
  const rows::Table& rows = run_.rows(c);
  const auto asks = [&](int list) {
    if (list < 0) return false;
    for (const rows::Action& action : rows.actions[static_cast<std::size_t>(list)]) {
      if (action.kind == rows::ActionKind::keep && rows.drives[action.index].output == output &&
          passes(rows.levels[action.level], test))
        return true;
      if (action.kind == rows::ActionKind::play && action.index == output && test == LW_OUTPUT_is_on)
        return true;
    }
    return false;
  };
  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    const std::uint8_t now = run_.state(c, p);
    const auto is_on = [&](std::uint16_t body) {
      if (now == 0) return false;
      const std::vector<std::uint16_t>& on = rows.props[p].states[now - 1u].bodies;
      return std::find(on.begin(), on.end(), body) != on.end();
    };
    for (std::uint8_t s = 1; s <= rows.props[p].states.size(); ++s)
      for (const std::uint16_t n : rows.props[p].states[s - 1u].bodies) {
        const rows::Body& body = rows.bodies[n];
        for (const rows::Keep& keep : body.keeps) {
          if (keep.output != output || !passes(rows.levels[keep.level], test)) continue;
          if (!is_on(n)) return of_prop(c, p, s, s, true, depth - 1);
          return keep.has_while && !run_.literal_was(c, keep.while_) ? of(c, keep.while_, true, depth - 1)
                                                                     : "";
        }
        if (asks(body.enter)) return is_on(n) ? "" : of_prop(c, p, s, s, true, depth - 1);
        for (std::size_t r = 0; r < body.rules.size(); ++r) {
          if (!asks(body.rules[r].actions)) continue;
          if (!is_on(n)) return of_prop(c, p, s, s, true, depth - 1);
          return not_due(c, p, RuleSeat{static_cast<std::uint8_t>(c), n, static_cast<std::uint16_t>(r)},
                         depth - 1);
        }
      }
  }
  return "";
}

}  // namespace lw

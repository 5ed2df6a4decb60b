// One fact: what its subject is decides what can be said of it.
//
// Tests: tests/unit/model/facts_test.cpp.
#include "model/facts.hpp"

#include <algorithm>

namespace lw::model {
namespace {

using ast::Predicate;

std::optional<std::int64_t> time_operand(const Said& said) {
  if (const auto* quantity = std::get_if<ast::Quantity>(&said.fact.operand)) {
    return amount(said.work, *quantity, Dimension::time, Sign::positive);
  }
  if (const auto* name = std::get_if<ast::Name>(&said.fact.operand)) {
    return amount(said.work, said.where, ast::Value(*name), Dimension::time, Sign::positive);
  }
  return std::nullopt;
}

/// What such a comparison can be made with, so that it is neither always nor never true.
std::string count_remedy(Predicate predicate, std::int64_t low, std::int64_t high) {
  const std::int64_t first = predicate == Predicate::below ? low + 1 : low;
  const std::int64_t last = predicate == Predicate::above ? high - 1 : high;
  if (first >= last) return "write " + std::to_string(first) + ".";
  return "write a number from " + std::to_string(first) + " to " + std::to_string(last) + ".";
}

/// A whole number from low to high, of `is`, `above` or `below`: a fact that could never be true is reported.
std::optional<std::int64_t> count_operand(const Said& said, std::int64_t low, std::int64_t high,
                                          const std::string& what) {
  if (const auto* quantity = std::get_if<ast::Quantity>(&said.fact.operand)) {
    said.work.report.say(Code::wrong_unit, quantity->span, what + " counts without a unit", "",
                         {"write a whole number."});
    return std::nullopt;
  }
  const auto* number = std::get_if<ast::Number>(&said.fact.operand);
  if (number == nullptr) return std::nullopt;
  const bool above = said.fact.predicate == Predicate::above;
  const bool below = said.fact.predicate == Predicate::below;
  const bool possible = above   ? number->value < high && number->value >= low
                        : below ? number->value > low && number->value <= high
                                : number->value >= low && number->value <= high;
  if (!possible) {
    said.work.report.say(
        Code::out_of_range, number->span,
        quoted(said.work.text(said.fact.span)) + " is " +
            ((above && number->value < low) || (below && number->value > high) ? "always" : "never") +
            " true",
        "It goes from " + std::to_string(low) + " to " + std::to_string(high) + ".",
        {count_remedy(said.fact.predicate, low, high)});
    return std::nullopt;
  }
  return number->value;
}

std::optional<Reading> of_session(const Said& said) {
  Fact fact;
  const Room& room = said.work.room;
  if (said.word_is("running"))
    fact.kind = FactKind::session_running;
  else if (said.word_is("ended"))
    fact.kind = FactKind::session_ended;
  else if (said.fact.predicate == Predicate::past || said.fact.predicate == Predicate::has_left) {
    const bool past = said.fact.predicate == Predicate::past;
    fact.kind = past ? FactKind::session_past : FactKind::session_left;
    const auto time = time_operand(said);
    if (!time) return std::nullopt;
    fact.value = *time;
    if (!past && room.session_ms == 0) {
      if (said.work.session_stated) return std::nullopt;
      said.work.report.say(Code::unknown_fact, said.fact.span,
                           "the session has no end, so no time is left of it", "Its length is not stated.",
                           {"write `session 60 min` in the braces of `room`."});
      return std::nullopt;
    }
    if (room.session_ms != 0 && *time > room.session_ms) {
      said.work.report.say(Code::out_of_range, said.fact.span, "the session is shorter than that",
                           "It lasts " + format_quantity({room.session_ms, Dimension::time}) + ".",
                           {"write a shorter time, or a longer `session` in the braces of `room`."});
      return std::nullopt;
    }
  } else {
    const std::vector<std::string> known{"session running", "session ended", "session past 45 min",
                                         "session has 5 min left"};
    const std::string near = nearest_name(said.fact.word.text, {"running", "ended"});
    said.work.report.say(
        Code::unknown_fact, said.fact.span,
        said.fact.word ? quoted(said.predicate_text()) + " cannot be said of the session"
                       : "`session` alone is not a condition",
        "One can say " + list_of(known, "or") + ".",
        {near.empty() ? said.word_is("idle") ? "write `not session running and not session ended`."
                                             : "write one of these."
                      : "write " + quoted("session " + near) + "."});
    return std::nullopt;
  }
  return reading_of(said, fact);
}

std::optional<Reading> of_finish(const Said& said) {
  if (said.fact.predicate != Predicate::bare || said.fact.member) {
    said.work.report.say(Code::unknown_fact, said.fact.span, "`finish` stands alone",
                         "It is true once all props of the room's `finish` are solved.", {"write `finish`."});
    return std::nullopt;
  }
  Fact fact;
  fact.kind = FactKind::finish;
  return reading_of(said, fact);
}

std::optional<Reading> of_prop(const Said& said, const Symbol& symbol) {
  Workspace& work = said.work;
  PropWork& prop = work.props[symbol.index];
  if (prop.parts == nullptr) return std::nullopt;
  const std::string name(said.fact.subject.text);
  Fact fact;
  fact.prop = prop.id;
  if (said.word_is("solved") || (said.where.chain && said.fact.predicate == Predicate::bare)) {
    fact.kind = FactKind::prop_solved;
    if (!work.room.props[symbol.index].first_goal) {
      report_scenery(work, prop.id, said.fact.span);
      return std::nullopt;
    }
    return reading_of(said, fact);
  }
  if (said.word_is("waiting")) {
    fact.kind = FactKind::prop_waiting;
    return reading_of(said, fact);
  }
  const std::string_view word = said.fact.word.text;
  if (said.fact.predicate == Predicate::word || said.fact.predicate == Predicate::blinking) {
    if (const auto state = state_of(work, prop.id, word)) {
      fact.kind = FactKind::prop_in_state;
      fact.state = *state;
      return reading_of(said, fact);
    }
    const auto other = prop.names.find(word);
    if (!prop.whole && work.room.props[symbol.index].states.empty()) return std::nullopt;
    if (other != prop.names.end() && other->second.silent) return std::nullopt;
    if (other == prop.names.end() && may_be_declared(work, word)) return std::nullopt;
    if (other == prop.names.end() && !is_news(work, &prop, true, word)) return std::nullopt;
    if (other != prop.names.end()) {
      return unknown(said, symbol, facts_of_prop(work, prop),
                     {quoted(word) + " is " + describe(work, nullptr, other->second) + " in it: write " +
                      quoted(name + "." + std::string(word)) + "."});
    }
  }
  if (said.fact.predicate == Predicate::bare) {
    return unknown(said, symbol, facts_of_prop(work, prop),
                   {"write " + quoted(name + " solved") + " or name one of its states."});
  }
  return unknown(said, symbol, facts_of_prop(work, prop));
}

std::optional<Reading> of_timer(const Said& said, const Symbol& symbol) {
  const Timer& timer = said.work.room.props[index(said.owner->id)].timers[symbol.index];
  Fact fact;
  fact.prop = said.owner->id;
  fact.item = symbol.index;
  if (said.word_is("done")) {
    fact.kind = FactKind::timer_done;
    return reading_of(said, fact);
  }
  const bool past = said.fact.predicate == Predicate::past;
  if (!past && said.fact.predicate != Predicate::has_left)
    return unknown(said, symbol, {"done", "past 2 min", "has 30 s left"});
  const auto time = time_operand(said);
  if (!time || timer.length_ms == 0) return std::nullopt;
  fact.kind = past ? FactKind::timer_past : FactKind::timer_left;
  fact.value = *time;
  if (*time > timer.length_ms) {
    said.work.report.say(Code::out_of_range, said.fact.span, the(said, symbol) + " is shorter than that",
                         "It lasts " + format_quantity({timer.length_ms, Dimension::time}) + ".",
                         {"write a shorter time, or give the timer a longer one."}, {{timer.span, "", true}});
    return std::nullopt;
  }
  return reading_of(said, fact);
}

std::optional<Reading> of_count(const Said& said, const Symbol& symbol) {
  const Prop& prop = said.work.room.props[index(said.owner->id)];
  const bool counter = symbol.kind == NameKind::counter;
  Fact fact;
  fact.prop = said.owner->id;
  fact.item = symbol.index;
  if (!counter && (said.word_is("done") || said.word_is("wrong"))) {
    fact.kind = said.word_is("done") ? FactKind::sequence_done : FactKind::sequence_wrong;
    return reading_of(said, fact);
  }
  std::int64_t low = 0, high = 0;
  if (counter) {
    low = prop.counters[symbol.index].low;
    high = prop.counters[symbol.index].high;
  } else {
    for (const ast::Step& step : said.owner->sequences[symbol.index]->steps) {
      if (std::holds_alternative<ast::Cond>(step)) ++high;
    }
    high -= 1;  // after the last step it is done and stands at 0 again
  }
  switch (said.fact.predicate) {
    case Predicate::is:
      fact.kind = counter ? FactKind::counter_is : FactKind::sequence_is;
      break;
    case Predicate::above:
      fact.kind = counter ? FactKind::counter_above : FactKind::sequence_above;
      break;
    case Predicate::below:
      fact.kind = counter ? FactKind::counter_below : FactKind::sequence_below;
      break;
    default:
      return unknown(said, symbol,
                     counter ? std::vector<std::string>{"is 3", "above 3", "below 3"}
                             : std::vector<std::string>{"done", "wrong", "is 2", "above 2", "below 2"});
  }
  if (counter && low == high) return std::nullopt;  // its ends were reported
  const auto value = count_operand(said, low, high, the(said, symbol));
  if (!value) return std::nullopt;
  fact.value = *value;
  return reading_of(said, fact);
}

std::optional<Reading> of_let(const Said& said, const Symbol& symbol) {
  const LetWork* let = let_done(said.work, symbol);
  if (let == nullptr) return std::nullopt;
  if (!let->reading) {
    said.work.report.say(Code::wrong_kind, said.fact.span,
                         quoted(said.subject_text()) + " is a quantity, and here belongs a condition", "",
                         {"compare with it: a window, a timer or a counter says what is asked."},
                         {{symbol.span, "", true}});
    return std::nullopt;
  }
  if (said.fact.predicate != Predicate::bare) {
    said.work.report.say(Code::unknown_fact, said.fact.span,
                         "the `let` " + quoted(said.subject_text()) + " stands alone",
                         "It is a condition by itself.", {"write " + quoted(said.subject_text()) + "."},
                         {{symbol.span, "", true}});
    return std::nullopt;
  }
  Reading reading = *let->reading;
  reading.cond.span = said.fact.span;
  for (Leaf& leaf : reading.leaves) leaf.use = said.fact.span;
  for (Negation& negation : reading.negations) negation.span = said.fact.span;
  if (reading.edge) reading.edge->use = said.fact.span;
  return reading;
}

std::optional<Reading> of_window(const Said& said, const Symbol& symbol) {
  if (said.fact.predicate != Predicate::bare) {
    said.work.report.say(Code::unknown_fact, said.fact.span, the(said, symbol) + " stands alone",
                         "It is true while the scale's settled value lies in it.",
                         {"write " + quoted(said.subject_text()) + "."}, {{symbol.span, "", true}});
    return std::nullopt;
  }
  const auto id = static_cast<WindowId>(symbol.index);
  if (!window_done(said.work, *said.owner, id)) return std::nullopt;
  Fact fact;
  fact.kind = FactKind::in_window;
  fact.prop = said.owner->id;
  fact.window = id;
  fact.input = said.work.room.props[index(said.owner->id)].windows[symbol.index].input;
  return reading_of(said, fact);
}

std::optional<Reading> of_symbol(const Said& said, const Symbol& symbol) {
  switch (symbol.kind) {
    case NameKind::window:
      return of_window(said, symbol);
    case NameKind::let:
      return of_let(said, symbol);
    case NameKind::input:
      return of_input(said, symbol);
    case NameKind::output:
      return of_output(said, symbol);
    case NameKind::prop:
      return of_prop(said, symbol);
    case NameKind::timer:
      return of_timer(said, symbol);
    case NameKind::counter:
    case NameKind::sequence:
      return of_count(said, symbol);
    case NameKind::controller: {
      if (!said.word_is("lost")) return unknown(said, symbol, {"lost"});
      Fact fact;
      fact.kind = FactKind::controller_lost;
      fact.controller = static_cast<ControllerId>(symbol.index);
      return reading_of(said, fact);
    }
    case NameKind::state: {
      const std::string prop = said.work.room.props[index(said.owner->id)].name;
      return unknown(
          said, symbol, {},
          {"name the prop before it: " + quoted(prop + " " + std::string(said.subject_text())) + "."});
    }
    case NameKind::link:
      return unknown(said, symbol, {}, {"name the controller that is no longer heard: `vault lost`."});
    case NameKind::thing:
      return unknown(said, symbol, {},
                     {"name the reader that reads it, or the window of a scale that it lies in."});
    case NameKind::board:
    case NameKind::clip:
    case NameKind::cue:
    case NameKind::design:
      return unknown(said, symbol, {});
  }
  return std::nullopt;
}

/// `assay.misses`: what the prop declares for all of itself.
std::optional<Reading> of_member(Said& said, const Symbol& subject) {
  Workspace& work = said.work;
  const ast::Name& member = *said.fact.member;
  if (subject.kind != NameKind::prop) {
    work.report.say(
        Code::wrong_kind, said.fact.subject.span,
        quoted(said.fact.subject.text) + " is " + describe(work, nullptr, subject) +
            ", and only a prop declares names",
        "What stands before the point is the prop, what stands behind it one of its own names.",
        {"write what can be said of " + quoted(said.fact.subject.text) + " with a space, or name the prop."},
        {{subject.span, "", true}});
    return std::nullopt;
  }
  PropWork& prop = work.props[subject.index];
  if (prop.parts == nullptr || !member) return std::nullopt;
  const auto found = prop.names.find(member.text);
  if (found == prop.names.end()) {
    if (may_be_declared(work, member.text)) return std::nullopt;
    if (!is_news(work, &prop, true, member.text)) {
      return std::nullopt;
    }
    std::vector<std::string> known;
    for (const auto& [name, symbol] : prop.names) {
      if (!symbol.body && symbol.kind != NameKind::state) known.push_back(name);
    }
    const std::string near = nearest_name(member.text, known);
    work.report.say(Code::unknown_name, member.span,
                    quoted(said.fact.subject.text) + " declares no " + quoted(member.text), "",
                    {!near.empty() ? "write " + quoted(std::string(said.fact.subject.text) + "." + near) + "."
                     : known.empty() ? "declare it in the prop."
                                     : "write one of its own names, " + list_of(known, "or") +
                                           ", or declare it in the prop."},
                    {{subject.span, "", true}});
    return std::nullopt;
  }
  const Symbol& symbol = found->second;
  use(work, symbol);
  if (symbol.silent) return std::nullopt;
  const bool inside = said.where.prop == &prop && said.where.body == symbol.body;
  if (symbol.body && !inside) {
    work.report.say(
        Code::out_of_scope, member.span,
        quoted(member.text) + " is known only in the state of " + quoted(said.fact.subject.text) +
            " that declares it",
        "What is declared in a state begins anew with each entry and is gone when the state is left.",
        {"declare " + quoted(member.text) + " in the prop, outside of its states."},
        {{symbol.span, "", true}});
    return std::nullopt;
  }
  if (symbol.kind == NameKind::input || symbol.kind == NameKind::output || symbol.kind == NameKind::thing ||
      symbol.kind == NameKind::prop) {
    work.report.say(Code::unknown_name, member.span,
                    quoted(said.fact.subject.text) + " declares no " + quoted(member.text),
                    "It is a place of the design that the prop is made from.",
                    {"name what the place is filled with."}, {{symbol.span, "", true}});
    return std::nullopt;
  }
  said.owner = &prop;
  return of_symbol(said, symbol);
}

}  // namespace

Reading reading_of(const Said& said, Fact fact) {
  Reading reading;
  reading.cond.kind = CondKind::fact;
  reading.cond.span = said.fact.span;
  const Leaf leaf{fact, said.fact.span, said.fact.span};
  if (is_edge(fact.kind)) reading.edge = leaf;
  reading.leaves.push_back(leaf);
  reading.cond.fact = std::move(fact);
  return reading;
}

/// "the scale `balance`"
std::string the(const Said& said, const Symbol& symbol) {
  std::string phrase = describe(said.work, nullptr, symbol);
  phrase.erase(0, phrase.find(' ') + 1);
  return "the " + phrase + " " + quoted(said.subject_text());
}

std::nullopt_t unknown(const Said& said, const Symbol& symbol, const std::vector<std::string>& known,
                       std::vector<std::string> remedies) {
  const std::string predicate = said.predicate_text();
  const std::string phrase = describe(said.work, nullptr, symbol);
  const std::string near = nearest_name(said.fact.word.text, known);
  if (remedies.empty()) {
    std::string subject(said.fact.subject.text);
    if (said.fact.member) subject += "." + std::string(said.fact.member->text);
    std::vector<std::string> facts;
    for (const std::string& fact : near.empty() ? known : std::vector<std::string>{near})
      facts.push_back(subject + " " + fact);
    remedies.push_back(facts.empty() ? "ask a device, a window, a timer or a state instead."
                                     : "write " + list_of(facts, "or") + ".");
  }
  const std::string message = predicate.empty()
                                  ? the(said, symbol) + " alone is not a condition"
                                  : quoted(predicate) + " cannot be said of " + the(said, symbol);
  const std::string reason = known.empty() ? "No condition speaks of " + phrase + "."
                                           : "Of " + phrase + " one can say " + list_of(known, "or") + ".";
  said.work.report.say(Code::unknown_fact, said.fact.span, message, reason, std::move(remedies),
                       {{symbol.span, "", true}});
  return std::nullopt;
}

std::vector<std::string> facts_of_prop(const Workspace& work, const PropWork& prop) {
  constexpr std::size_t kListed = 12;
  std::vector<std::string> known;
  for (const State& state : work.room.props[index(prop.id)].states) {
    if (known.size() < kListed) known.push_back(state.name);
  }
  known.push_back("solved");
  known.push_back("waiting");
  return known;
}

std::optional<Reading> read_fact(Workspace& work, const Where& where, const ast::Fact& fact) {
  Said said{work, where, fact, where.prop};
  if (!fact.subject) return std::nullopt;
  if (fact.subject.text == "session") return of_session(said);
  if (fact.subject.text == "finish") return of_finish(said);
  const Symbol* subject =
      find(work, where, fact.subject, "a device, a prop, a window or whatever else can be asked",
           [](const Symbol& s) {
             return s.kind != NameKind::board && s.kind != NameKind::thing && s.kind != NameKind::clip &&
                    s.kind != NameKind::cue && s.kind != NameKind::design && s.kind != NameKind::link;
           });
  if (subject == nullptr) return std::nullopt;
  if (fact.member) return of_member(said, *subject);
  return of_symbol(said, *subject);
}

}  // namespace lw::model

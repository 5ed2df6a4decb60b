// What can be said of inputs and outputs.
//
// Tests: tests/unit/model/facts_test.cpp.
#include <algorithm>

#include "model/facts.hpp"

namespace lw::model {
namespace {

using ast::Predicate;

std::optional<ThingId> tagged_thing(const Said& said) {
  const auto* name = std::get_if<ast::Name>(&said.fact.operand);
  if (name == nullptr) return std::nullopt;
  const auto thing = thing_named(said.work, said.where, *name);
  if (!thing) return std::nullopt;
  const Thing& row = said.work.room.things[index(*thing)];
  if (!row.tag) {
    if (row.mass_pg) {
      said.work.report.say(Code::wrong_kind, name->span,
                           quoted(name->text) + " has no tag that a reader could read", "",
                           {"give it one: `tag \"04 A1 5C 22\"` in its braces."}, {{row.span, "", true}});
    }
    return std::nullopt;
  }
  return thing;
}

std::optional<Reading> of_reader(const Said& said, const Symbol& symbol, Fact fact) {
  switch (said.fact.predicate) {
    case Predicate::reads_nothing:
      fact.kind = FactKind::reads_nothing;
      break;
    case Predicate::reads_anything:
      fact.kind = FactKind::reads_anything;
      break;
    case Predicate::reads:
    case Predicate::reads_anything_but: {
      fact.kind = said.fact.predicate == Predicate::reads ? FactKind::reads_thing : FactKind::reads_other;
      const auto thing = tagged_thing(said);
      if (!thing) return std::nullopt;
      fact.thing = *thing;
      break;
    }
    default:
      return unknown(said, symbol,
                     {"reads THING", "reads nothing", "reads anything", "reads anything but THING", "lost"});
  }
  return reading_of(said, fact);
}

std::optional<Reading> of_contact(const Said& said, const Symbol& symbol, Fact fact) {
  const Input& contact = said.work.room.inputs[symbol.index];
  if (said.word_is(contact.closed_word)) {
    fact.kind = FactKind::contact_closed;
    return reading_of(said, fact);
  }
  if (said.word_is(contact.open_word)) {
    fact.kind = FactKind::contact_open;
    return reading_of(said, fact);
  }
  std::vector<std::string> remedies;
  const std::string name(said.fact.subject.text);
  if (said.word_is("closed"))
    remedies = {"write " + quoted(name + " " + contact.closed_word) + ", its word for closed."};
  if (said.word_is("open"))
    remedies = {"write " + quoted(name + " " + contact.open_word) + ", its word for open."};
  return unknown(said, symbol, {contact.closed_word, contact.open_word, "lost"}, remedies);
}

}  // namespace

std::optional<Reading> of_input(const Said& said, const Symbol& symbol) {
  const Input& input = said.work.room.inputs[symbol.index];
  Fact fact;
  fact.input = static_cast<InputId>(symbol.index);
  if (said.word_is("lost") && input.kind != InputKind::operator_button) {
    fact.kind = FactKind::input_lost;
    return reading_of(said, fact);
  }
  const bool scale = input.kind == InputKind::scale;
  switch (input.kind) {
    case InputKind::scale:
    case InputKind::gauge:
      if (scale && said.word_is("empty"))
        fact.kind = FactKind::scale_empty;
      else if (said.word_is("moving"))
        fact.kind = FactKind::input_moving;
      else {
        std::vector<std::string> remedies;
        if (said.fact.predicate == Predicate::above || said.fact.predicate == Predicate::below) {
          remedies = {"declare the range and name it: " +
                      quoted("window heavy on " + std::string(said.fact.subject.text) + ": " +
                             said.predicate_text()) +
                      "."};
        }
        return unknown(said, symbol,
                       scale ? std::vector<std::string>{"empty", "moving", "lost"}
                             : std::vector<std::string>{"moving", "lost"},
                       remedies);
      }
      return reading_of(said, fact);
    case InputKind::contact:
      return of_contact(said, symbol, fact);
    case InputKind::button:
    case InputKind::operator_button:
      if (said.word_is("pressed") || (said.where.sequence && said.fact.predicate == Predicate::bare)) {
        fact.kind = FactKind::button_pressed;
      } else if (said.word_is("held") && input.kind == InputKind::button) {
        fact.kind = FactKind::button_held;
      } else {
        if (input.kind == InputKind::button) return unknown(said, symbol, {"pressed", "held", "lost"});
        std::vector<std::string> remedies;
        if (said.word_is("held"))
          remedies = {"let a rule move to a state when " + quoted(input.name + " pressed") +
                      ", and name that state here."};
        return unknown(said, symbol, {"pressed"}, remedies);
      }
      return reading_of(said, fact);
    case InputKind::reader:
      return of_reader(said, symbol, fact);
    case InputKind::keypad: {
      const auto* keys = std::get_if<ast::Text>(&said.fact.operand);
      if (said.fact.predicate != Predicate::enters) return unknown(said, symbol, {"enters \"4711\"", "lost"});
      if (keys == nullptr) return std::nullopt;
      const auto text = keys_of(said.work, *keys, true);
      if (!text) return std::nullopt;
      fact.kind = FactKind::enters;
      fact.text = *text;
      return reading_of(said, fact);
    }
    case InputKind::signal:
      if (said.fact.predicate == Predicate::on)
        fact.kind = FactKind::signal_on;
      else if (said.fact.predicate == Predicate::off)
        fact.kind = FactKind::signal_off;
      else
        return unknown(said, symbol, {"on", "off", "lost"});
      return reading_of(said, fact);
  }
  return std::nullopt;
}

std::optional<Reading> of_output(const Said& said, const Symbol& symbol) {
  const Output& output = said.work.room.outputs[symbol.index];
  Fact fact;
  fact.output = static_cast<OutputId>(symbol.index);
  const Predicate predicate = said.fact.predicate;
  const bool lock = output.kind == OutputKind::lock;
  const bool lock_word = said.word_is("released") || said.word_is("secured");
  const bool switch_word = predicate == Predicate::on || predicate == Predicate::off;
  if (output.kind == OutputKind::voice) {
    if (!said.word_is("playing")) return unknown(said, symbol, {"playing"});
    fact.kind = FactKind::voice_playing;
    return reading_of(said, fact);
  }
  if ((lock && switch_word) || (!lock && lock_word)) {
    report_polarity(said.work, said.fact.span, output, said.fact.subject.text);
    return std::nullopt;
  }
  if (lock) {
    if (!lock_word) return unknown(said, symbol, {"released", "secured"});
    fact.kind = said.word_is("released") ? FactKind::lock_released : FactKind::lock_secured;
    return reading_of(said, fact);
  }
  if (predicate == Predicate::on)
    fact.kind = FactKind::output_on;
  else if (predicate == Predicate::off)
    fact.kind = FactKind::output_off;
  else if (predicate == Predicate::blinking)
    fact.kind = FactKind::output_blinking;
  else if (predicate == Predicate::at && output.kind != OutputKind::relay) {
    const auto* written = std::get_if<ast::Percent>(&said.fact.operand);
    const auto level = written == nullptr ? std::nullopt : percent(said.work, *written);
    if (!level) return std::nullopt;
    fact.kind = *level == 0     ? FactKind::output_off
                : *level == 100 ? FactKind::output_on
                                : FactKind::output_at;
    if (fact.kind == FactKind::output_at) fact.value = *level;
  } else if (output.kind == OutputKind::relay) {
    return unknown(said, symbol, {"on", "off", "blinking"});
  } else {
    return unknown(said, symbol, {"on", "off", "blinking", "at 40 %"});
  }
  return reading_of(said, fact);
}

std::optional<std::string> keys_of(Workspace& work, const ast::Text& text, bool code) {
  constexpr std::size_t kMostKeys = 12;  // a table keeps no more
  const std::string keys = text.value();
  const bool printable = std::all_of(keys.begin(), keys.end(), [](char c) { return c > ' ' && c <= '~'; });
  if (!keys.empty() && printable && (!code || keys.size() <= kMostKeys)) return keys;
  work.report.say(Code::bad_keys, text.span, "these are not the keys of a keypad",
                  code ? "A code is 1 to 12 keys: digits, letters, `*` or `#`, without spaces."
                       : "Keys are digits, letters, `*` or `#`, without spaces.",
                  {code ? "write the keys as they are pressed, such as `\"4711\"`."
                        : "write the keys as they are pressed, such as `\"4711#\"`."});
  return std::nullopt;
}

void report_polarity(Workspace& work, Span span, const Output& output, std::string_view name) {
  if (output.kind == OutputKind::lock) {
    work.report.say(Code::wrong_level, span,
                    "the lock " + quoted(name) + " is released or secured, never on or off",
                    "Whether its coil is then powered follows from `fail-safe` or `fail-secure`.",
                    {"write `released` or `secured`."}, {{output.span, "", true}});
  } else {
    const std::string kind = std::string(kind_phrase(output.kind)).substr(2);
    work.report.say(Code::wrong_level, span,
                    "the " + kind + " " + quoted(name) + " is on or off, never released or secured",
                    "Only locks are released and secured.", {"write `on` or `off`."},
                    {{output.span, "", true}});
  }
}

}  // namespace lw::model

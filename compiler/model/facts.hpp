// One fact while it is read: what the device's side (device_facts.cpp) and the rest (facts.cpp) share.
//
// Internal to model/. Tests: tests/unit/model/facts_test.cpp.
#pragma once

#include "model/workspace.hpp"

namespace lw::model {

/// A fact being read: its text, from where, and whose names a prop's subject is of.
struct Said {
  Workspace& work;
  const Where& where;
  const ast::Fact& fact;
  PropWork* owner = nullptr;  // of a window, timer, counter, sequence, state

  std::string_view subject_text() const { return fact.member ? fact.member->text : fact.subject.text; }
  std::string predicate_text() const {
    if (fact.word.text.empty()) return "";
    Span span = fact.word.span;
    span.end = fact.span.end;
    return std::string(work.text(span));
  }
  bool word_is(std::string_view word) const {
    return (fact.predicate == ast::Predicate::word || fact.predicate == ast::Predicate::blinking) &&
           fact.word.text == word;
  }
};

Reading reading_of(const Said& said, Fact fact);
/// "the scale `balance`"
std::string the(const Said& said, const Symbol& symbol);
/// Reports that this cannot be said of the subject, with all that can.
std::nullopt_t unknown(const Said& said, const Symbol& symbol, const std::vector<std::string>& known,
                       std::vector<std::string> remedies = {});

std::optional<Reading> of_input(const Said& said, const Symbol& symbol);
std::optional<Reading> of_output(const Said& said, const Symbol& symbol);

}  // namespace lw::model

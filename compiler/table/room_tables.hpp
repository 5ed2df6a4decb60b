// What lowering a room gives: a table for each controller, where everything of the model lies in them, and
// the questions that rehearsals and promises ask of visible states.
//
// Everything after lowering speaks of bytes and of this map. Tests: tests/unit/table.
#pragma once

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/model.hpp"
#include "table/records.hpp"
#include "table/symbols.hpp"

namespace lw {

/// Where a model item lies: the controller and the row of its section there.
struct Seat {
  std::uint8_t controller = 0;
  std::uint8_t row = 0;
};

/// One node of a question about the visible state of the whole room, in postfix order.
struct Ask {
  enum class Kind : std::uint8_t {
    fact,       // push: the raw fact holds in the visible state of `controller`
    scan_fact,  // push: the fact numbered `a` was true in the last scan's snapshot of `controller` (edges)
    constant,   // push: a != 0
    not_,       // turn the top round
    at_least,   // of the top `b`, at least `a`: replaces them
    exactly,    // of the top `b`, exactly `a`
  };
  Kind kind{};
  std::uint8_t controller = 0;
  std::uint32_t a = 0, b = 0;
  rows::RawFact fact;
};
using Question = std::vector<Ask>;

/// What counts for so much while it is so.
struct Weighed {
  Question question;
  std::int64_t weight = 0;  // 0 or more
};

/// Whether the question is answered yes, given for each `fact` and `scan_fact` of it, in order, whether it
/// holds. `stack` is room to work in.
template <class Holds>
bool answered(const Question& question, std::vector<bool>& stack, Holds&& holds) {
  stack.clear();
  for (const Ask& ask : question) {
    switch (ask.kind) {
      case Ask::Kind::fact:
      case Ask::Kind::scan_fact:
        stack.push_back(holds(ask));
        break;
      case Ask::Kind::constant:
        stack.push_back(ask.a != 0);
        break;
      case Ask::Kind::not_:
        stack.back() = !stack.back();
        break;
      case Ask::Kind::at_least:
      case Ask::Kind::exactly: {
        const auto first = stack.end() - static_cast<std::ptrdiff_t>(ask.b);
        const auto hold = static_cast<std::uint32_t>(std::count(first, stack.end(), true));
        stack.erase(first, stack.end());
        stack.push_back(ask.kind == Ask::Kind::exactly ? hold == ask.a : hold >= ask.a);
        break;
      }
    }
  }
  assert(stack.size() == 1);
  return stack.back();
}

/// Whether a fact holds in the visible state of a controller.
inline Question fact_holds(std::size_t controller, rows::RawFact fact) {
  Ask ask;
  ask.kind = Ask::Kind::fact;
  ask.controller = static_cast<std::uint8_t>(controller);
  ask.fact = std::move(fact);
  return {std::move(ask)};
}
inline Question opposite(Question question) {
  Ask ask;
  ask.kind = Ask::Kind::not_;
  question.push_back(std::move(ask));
  return question;
}
inline Question all_of(const std::vector<Question>& questions) {
  Question all;
  for (const Question& question : questions) all.insert(all.end(), question.begin(), question.end());
  if (questions.size() != 1) {
    Ask ask;
    ask.kind = Ask::Kind::at_least;
    ask.a = ask.b = static_cast<std::uint32_t>(questions.size());
    all.push_back(std::move(ask));
  }
  return all;
}

struct ControllerTable {
  rows::Table rows;
  std::vector<std::uint8_t> bytes;
  Symbols symbols;
  // Model ids by row of the table, for messages and sheets.
  std::vector<model::InputId> inputs;
  std::vector<model::OutputId> outputs;
  std::vector<model::ClipId> clips;
  std::vector<model::PropId> props;
  std::vector<model::CueId> cues;
  std::vector<model::ThingId> tags;  // the thing whose tag this is
};

struct RoomTables {
  std::vector<ControllerTable> controllers;  // in file order
  std::uint64_t identity = 0;
  // Seats by model id.
  std::vector<std::vector<Seat>> inputs;  // an input may be known to one controller only; a signal to several
  std::vector<Seat> outputs;
  std::vector<Seat> props;
  // For each rehearsal, each deed, each expected condition; for each promise, its condition and its answer.
  std::vector<std::vector<std::vector<Question>>> expected;
  std::vector<Question> promise_conditions, promise_answers;
  Question finish;  // whether the room is finished
};

}  // namespace lw

// What a prop looks at and what it does, line by line; for whoever asks of a whole prop. Tests:
// tests/unit/check/rings_test.cpp, tests/cases/time.
#pragma once

#include "model/model.hpp"

namespace lw::model {

/// Whether facts of that kind say what is shown of an output.
inline bool speaks_of_output(FactKind kind) {
  switch (kind) {
    case FactKind::output_on:
    case FactKind::output_off:
    case FactKind::output_at:
    case FactKind::output_blinking:
    case FactKind::lock_released:
    case FactKind::lock_secured:
    case FactKind::voice_playing:
      return true;
    default:
      return false;
  }
}

/// Calls visit on every condition that changes what a prop does: not on what it only tells.
template <class Visit>
void each_condition(const Prop& prop, Visit&& visit) {
  for (const Body& body : prop.bodies) {
    for (const Rule& rule : body.rules) visit(rule.condition);
    for (const Keep& keep : body.keeps)
      if (keep.while_) visit(*keep.while_);
  }
  for (const Sequence& sequence : prop.sequences) {
    if (sequence.each) visit(*sequence.each);
    for (const Step& step : sequence.steps) visit(step.condition);
  }
  if (prop.wakes) visit(*prop.wakes);
}

/// Calls visit on every action of a prop's rules, and of entering and leaving its states.
template <class Visit>
void each_action(const Prop& prop, Visit&& visit) {
  const auto all = [&](const std::vector<Action>& actions) {
    for (const Action& action : actions) visit(action);
  };
  for (const Body& body : prop.bodies) {
    for (const Rule& rule : body.rules) all(rule.actions);
    all(body.enter);
    all(body.leave);
  }
}

}  // namespace lw::model

// Section 6, sequences: which events came in this scan, and what they make of the place.
#include <algorithm>
#include <cassert>

#include "oracle.hpp"

namespace lw::oracle {

using model::Cond;
using model::Fact;
using model::FactKind;
using model::index;

namespace {

std::vector<const Cond*> read_by(const model::Sequence& sequence) {
  std::vector<const Cond*> conditions;
  if (sequence.each) conditions.push_back(&*sequence.each);
  for (const model::Step& step : sequence.steps) conditions.push_back(&step.condition);
  return conditions;
}

}  // namespace

bool Controller::listens(std::size_t prop, const model::Owned& owned) const {
  const PropState& state = props_[prop];
  if (!state.state) return false;
  return !owned.body || bodies(prop, *state.state).count(index(*owned.body)) != 0;
}

/// Whether a device or a controller that the condition reads was lost, found or first heard in this scan
/// (6.5).
bool Controller::hushed(const Cond& cond) const {
  bool stirs = false;
  model::each_fact(cond, [&](const Fact& fact, Span) {
    // A window that holds no division asks nothing of its scale.
    if (fact.kind == FactKind::in_window &&
        room_.props[index(fact.prop)].windows[index(fact.window)].is_empty)
      return;
    if (const auto far = far_home(fact))
      stirs = stirs || peers_[index(*far)].stirs;
    else if (fact.kind == FactKind::controller_lost)
      stirs = stirs || peers_[index(fact.controller)].stirs;
    else if (fact.kind <= FactKind::signal_off)
      stirs = stirs || inputs_[index(fact.input)].stirs;
    else if (fact.kind == FactKind::finish) {
      for (const model::PropId prop : room_.finish)
        if (!owns(index(prop))) stirs = stirs || peers_[index(room_.props[index(prop)].controller)].stirs;
    }
  });
  return stirs;
}

/// In the order in which they read each other (3.3): as often as one of them waits for another.
void Controller::sequences() {
  done_.clear();
  wrong_.clear();
  std::set<std::pair<std::size_t, std::size_t>> waiting;
  for (std::size_t p = 0; p < props_.size(); ++p) {
    if (!owns(p)) continue;
    for (std::size_t n = 0; n < props_[p].sequences.size(); ++n) waiting.emplace(p, n);
  }
  const auto ready = [&](const std::pair<std::size_t, std::size_t>& one) {
    bool all_there = true;
    for (const Cond* cond : read_by(room_.props[one.first].sequences[one.second]))
      model::each_fact(*cond, [&](const Fact& fact, Span) {
        if (fact.kind >= FactKind::sequence_done && fact.kind <= FactKind::sequence_below &&
            waiting.count({index(fact.prop), fact.item}) != 0)
          all_there = false;
      });
    return all_there;
  };
  while (!waiting.empty()) {
    const auto next = std::find_if(waiting.begin(), waiting.end(), ready);
    assert(next != waiting.end());  // a ring is an error
    const auto one = *next;
    sequence(one.first, one.second);
    waiting.erase(one);
  }
}

void Controller::sequence(std::size_t prop, std::size_t n) {
  const model::Sequence& row = room_.props[prop].sequences[n];
  SequenceState& state = props_[prop].sequences[n];
  if (!listens(prop, row)) return;

  // Events (6.2): the different conditions that became true; of `each`, at most one event.
  std::vector<const Cond*> different;
  for (const model::Step& step : row.steps)
    if (std::none_of(different.begin(), different.end(),
                     [&](const Cond* other) { return same(room_, id_, step.condition, *other); }))
      different.push_back(&step.condition);
  bool hush = false;
  for (const Cond* cond : read_by(row)) {
    hush = hush || hushed(*cond);
    model::each_fact(*cond, [&](const Fact& fact, Span) {
      if (fact.kind == FactKind::sequence_done || fact.kind == FactKind::sequence_wrong)
        coverage_.hit(Rule::sequences_in_order);
    });
  }
  const bool first_look = !state.looked;
  state.looked = true;
  if (hush) coverage_.hit(Rule::sequence_hushed);
  if (first_look) coverage_.hit(Rule::sequence_first_look);

  const auto is_step = [&](std::size_t step, const Cond& cond) {
    return same(room_, id_, row.steps[step].condition, cond);
  };
  // Whose the events are: whether exactly one came, and which steps it may be.
  int events = 0;
  bool next_step = false, first_step = false;
  const auto next = static_cast<std::size_t>(state.place);
  if (row.each) {
    const bool now = holds(*row.each);
    bool event = false;
    if (model::is_edge(*row.each)) {
      event = now && !hush;
    } else {
      const bool became = now && state.each_run < 0;
      if (became) state.each_counts = !first_look && !hush;
      state.each_run = now ? state.each_run + 1 : -1;
      event = now && state.each_counts && !hush && state.each_run == scans(row.each_hold_ms);
      if (row.each_hold_ms > 0 && event) coverage_.hit(Rule::each_held);
    }
    if (event) {
      coverage_.hit(Rule::each_event);
      events = 1;
      next_step = holds(row.steps[next].condition);
      // The first step's too when it is the same condition.
      first_step = next_step ? is_step(0, row.steps[next].condition) : holds(row.steps[0].condition);
    }
  } else {
    state.were.resize(different.size());
    for (std::size_t i = 0; i < different.size(); ++i) {
      const bool now = holds(*different[i]);
      const bool edge = model::is_edge(*different[i]);
      const bool became = now && (edge || (!state.were[i] && !first_look)) && !hush;
      state.were[i] = now;
      if (!became) continue;
      ++events;
      next_step = is_step(next, *different[i]);
      first_step = is_step(0, *different[i]);
    }
  }

  // Clocks (6.4): what passes before this scan's event is looked at.
  if (state.place > 0) {
    ++state.since_step;
    ++state.since_first;
    const model::Step& coming = row.steps[next];
    const bool late = coming.gap_high_ms && state.since_step > scans(*coming.gap_high_ms);
    const bool over = row.within_ms && state.since_first > scans(*row.within_ms);
    if (late || over) {
      coverage_.hit(late ? Rule::gap_passed : Rule::within_passed);
      if (row.wrong_ignored) coverage_.hit(Rule::passed_ignored);
      if (!row.wrong_ignored) wrong_.emplace(prop, n);
      state.place = 0;
      if (events == 0) return;
      // What comes now is looked at from the beginning.
      next_step = first_step = row.each ? holds(row.steps[0].condition) : first_step;
    }
  }
  if (events == 0) return;

  const model::Step& coming = row.steps[static_cast<std::size_t>(state.place)];
  const bool early = state.place > 0 && coming.gap_low_ms && *coming.gap_low_ms > 0 &&
                     state.since_step < scans(*coming.gap_low_ms);
  if (events == 1 && next_step && !early) {
    if (state.place == 0) state.since_first = 0;
    if (state.place > 0 && coming.gap_low_ms && state.since_step == scans(*coming.gap_low_ms))
      coverage_.hit(Rule::gap_low_end);
    if (state.place > 0 && coming.gap_high_ms && state.since_step == scans(*coming.gap_high_ms))
      coverage_.hit(Rule::gap_high_end);
    state.since_step = 0;
    ++state.place;
    coverage_.hit(Rule::step_met);
    if (state.place == static_cast<int>(row.steps.size())) {
      state.place = 0;
      done_.emplace(prop, n);
      coverage_.hit(Rule::sequence_done);
    }
    return;
  }
  coverage_.hit(events > 1 ? Rule::several_events : early ? Rule::step_early : Rule::step_wrong);
  if (row.each && early && next_step && !first_step && holds(row.steps[0].condition))
    coverage_.hit(Rule::each_early_first);
  if (row.wrong_ignored) {  // 6.3: the place stays
    coverage_.hit(Rule::wrong_ignored);
    return;
  }
  wrong_.emplace(prop, n);
  state.place = 0;
  if (events == 1 && first_step) {
    coverage_.hit(Rule::wrong_is_first);
    state.place = 1;
    state.since_step = state.since_first = 0;
  }
}

}  // namespace lw::oracle

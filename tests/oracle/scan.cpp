// Sections 3, 7 and 8: one scan from its first act to its last, the session, and reset.
#include <algorithm>
#include <cassert>

#include "oracle.hpp"

namespace lw::oracle {

using model::index;

Controller::Controller(const model::Room& room, model::ControllerId id, ClipLength clip_length,
                       Coverage& coverage)
    : room_(room),
      id_(id),
      clip_length_(std::move(clip_length)),
      coverage_(coverage),
      scan_ms_(room.boards[index(room.controllers[index(id)].board)].scan_ms) {
  for (std::size_t n = 0; n < room.inputs.size(); ++n)
    if (room.inputs[n].kind != model::InputKind::signal && room.inputs[n].controller == id)
      mine_.insert(model::InputId(n));
  // A signal is conditioned by all that read it; one that nobody reads by the one that resolve gave it to.
  std::set<model::InputId> read;
  for (std::size_t c = 0; c < room.controllers.size(); ++c)
    each_condition(room, model::ControllerId(c), [&](const model::Cond& cond) {
      model::each_fact(cond, [&](const model::Fact& fact, Span) {
        if (fact.kind > model::FactKind::signal_off) return;
        if (room.inputs[index(fact.input)].kind != model::InputKind::signal) return;
        read.insert(fact.input);
        if (model::ControllerId(c) == id) mine_.insert(fact.input);
      });
    });
  for (std::size_t n = 0; n < room.inputs.size(); ++n)
    if (room.inputs[n].kind == model::InputKind::signal && room.inputs[n].controller == id &&
        read.count(model::InputId(n)) == 0)
      mine_.insert(model::InputId(n));
  const auto name_tags = [&](const model::Cond& cond) {
    model::each_fact(cond, [&](const model::Fact& fact, Span) {
      if (fact.kind == model::FactKind::reads_thing || fact.kind == model::FactKind::reads_other)
        if (mine_.count(fact.input) != 0) named_tags_.insert(*room.things[index(fact.thing)].tag);
    });
  };
  for (std::size_t c = 0; c < room.controllers.size(); ++c) {
    told_.push_back(facts_told(room, model::ControllerId(c)));
    each_condition(room, model::ControllerId(c), name_tags);
  }
  for (const model::Promise& promise : room.promises) name_tags(promise.condition);
  for (std::size_t c = 0; c < room.controllers.size(); ++c)
    hears_.push_back(c != index(id) &&
                     std::any_of(room.links.begin(), room.links.end(), [&](const auto& link) {
                       const auto joins = [&](model::ControllerId one) {
                         return std::find(link.joins.begin(), link.joins.end(), one) != link.joins.end();
                       };
                       return joins(id) && joins(model::ControllerId(c));
                     }));
  power_up();
}

std::int64_t Controller::scans(std::int64_t ms) const { return (ms + scan_ms_ - 1) / scan_ms_; }

void Controller::power_up() {
  heard_.clear();
  inputs_.assign(room_.inputs.size(), InputState{});
  looks_ = 0;
  epoch_ = 0;
  epoch_of_power_up_ = !is_first();  // the first makes its own
  peers_.assign(room_.controllers.size(), PeerState{});
  for (std::size_t c = 0; c < peers_.size(); ++c) {
    peers_[c].last.bits.assign(told_[c].size(), false);
    peers_[c].solved_seen.assign(told_[c].size(), false);
  }
  last_said_.reset();
  values_said_ = values();
  since_said_ = 0;
  stirred_ = 0;
  reset();
}

/// 8.1. Inputs and what was heard of other controllers are no part of it.
void Controller::reset() {
  phase_ = Phase::idle;
  time_ = 0;
  start_looked_ = start_counts_ = false;
  start_run_ = -1;
  reset_due_ = false;
  props_.clear();
  readies_.clear();
  for (std::size_t p = 0; p < room_.props.size(); ++p) {
    const model::Prop& row = room_.props[p];
    PropState state;
    for (const model::Body& body : row.bodies) state.runs.emplace_back(body.rules.size(), -1);
    state.timers.resize(row.timers.size());
    for (const model::Counter& counter : row.counters) state.counters.push_back(counter.low);
    state.sequences.resize(row.sequences.size());
    props_.push_back(std::move(state));
    readies_.emplace_back(row.readies.size());
  }
  outputs_.clear();
  for (const model::Output& row : room_.outputs) {
    OutputState output;
    output.level = row.rest;
    outputs_.push_back(output);
  }
  drives_.clear();
  asking_.clear();
  whiles_.clear();
  cues_.clear();
  tells_.clear();
  done_.clear();
  wrong_.clear();
}

void Controller::step(const Commands& commands) {
  coverage_.hit(Rule::scan);
  cues_.clear();
  moved_ = false;
  if (commands.reset || reset_due_) {  // 3.1
    const bool asked = !reset_due_;
    if (asked) {
      next_epoch(epoch_);
      forget_bits();
      heard_.clear();
    }
    coverage_.hit(reset_due_ ? Rule::reset_heard : Rule::reset_asked);
    for (const model::InputId id : mine_)
      if (inputs_[index(id)].edge) coverage_.hit(Rule::reset_drops_edges);
    for (std::size_t p = 0; p < props_.size(); ++p) {
      if (props_[p].state) coverage_.hit(Rule::reset_running);
      if (owns(p) && !room_.props[p].readies.empty()) coverage_.hit(Rule::ready_after_reset);
    }
    reset();
    hear_session();  // 9.4: it stands as heard; props wake in the next scan
    forget_moment();
    return;
  }
  clocks(hear_session());  // 9.2, 3.2
  session(commands);
  sequences();       // 3.3
  snapshot_keeps();  // 3.4
  readies_and_tells();
  std::vector<Due> all;
  for (std::size_t p = 0; p < room_.props.size(); ++p) all.push_back(owns(p) ? look(p, commands) : Due{});
  int act = 0, move = 0;
  for (std::size_t p = 0; p < room_.props.size(); ++p) {  // 3.5
    if (!owns(p)) continue;
    carry_out(p, all[p]);
    act += all[p].acts.empty() ? 0 : 1;
    move += all[p].moves == nullptr ? 0 : 1;
  }
  if (act > 1) coverage_.hit(Rule::props_act_in_order);
  if (move > 1) coverage_.hit(Rule::moves_together);
  outputs();  // 3.6
  forget_moment();
}

void Controller::clocks(bool began) {
  if (phase_ == Phase::running && !began) {
    ++time_;
    coverage_.hit(Rule::clocks);
  }
  for (PropState& prop : props_) {
    ++prop.age;
    for (TimerState& timer : prop.timers)
      if (timer.started) ++timer.gone;
  }
  for (auto drive = drives_.begin(); drive != drives_.end();) {
    if (--drive->second.left > 0) {
      ++drive;
      continue;
    }
    coverage_.hit(drive->second.tail ? Rule::tail_over : Rule::drive_over);
    drive = drives_.erase(drive);
  }
  for (OutputState& voice : outputs_) {
    if (!voice.sounding) continue;
    ++voice.gone;
    if (!voice.by_play || voice.gone < scans(clip_length_(voice.clip))) continue;
    voice.sounding = voice.by_play = false;
    coverage_.hit(Rule::clip_over);
  }
}

/// Whether the condition of `starts when` starts the session now (7.1).
bool Controller::session_condition() {
  const model::Cond& cond = room_.start_condition;
  const bool first_look = !start_looked_;
  start_looked_ = true;
  const bool hush = hushed(cond);
  const bool now = holds(cond);
  if (model::is_edge(cond)) return now;  // a moment was false before
  if (now && start_run_ < 0) start_counts_ = !first_look && !hush;
  if (now && start_run_ < 0 && !start_counts_) coverage_.hit(Rule::start_true_already);
  start_run_ = now ? start_run_ + 1 : -1;
  const std::int64_t hold = room_.start_hold_ms > 0 ? scans(room_.start_hold_ms) : 0;
  return now && start_counts_ && start_run_ >= hold;  // due as long as it goes on holding
}

void Controller::next_epoch(std::uint16_t after) {
  epoch_ = static_cast<std::uint16_t>(after + 1);
  epoch_of_power_up_ = false;
  epoch_moved_ = true;
}

void Controller::session(const Commands& commands) {
  if (phase_ == Phase::idle) {
    bool starts = false;
    if (is_first()) {
      bool others_known = true, known = true;
      for (std::size_t c = 0; c < peers_.size(); ++c) {
        if (!hears_[c]) continue;
        const PeerState& peer = peers_[c];
        others_known = others_known && (peer.heard || peer.lost);
        known = known && (peer.lost || peer.last.inputs_known);
      }
      known = known && others_known && inputs_known();
      if (room_.starts == model::SessionStart::when && session_condition()) {
        starts = true;
        coverage_.hit(model::is_edge(room_.start_condition) ? Rule::starts_by_edge
                      : room_.start_hold_ms > 0             ? Rule::starts_by_hold
                                                            : Rule::starts_by_level);
      }
      if (commands.start) {
        starts = true;
        coverage_.hit(Rule::starts_by_operator);
      }
      if (room_.starts == model::SessionStart::itself && known) {
        starts = true;
        coverage_.hit(Rule::starts_itself);
      }
      if (starts && !others_known) {
        coverage_.hit(Rule::start_waits);
        starts = false;
      }
      if (starts) {
        phase_ = Phase::running;
        time_ = 0;
        if (std::any_of(peers_.begin(), peers_.end(), [](const PeerState& peer) { return peer.lost; })) {
          next_epoch(epoch_);
          coverage_.hit(Rule::starts_next_epoch);
        }
      }
    }
    return;
  }
  if (phase_ != Phase::running) return;
  const bool over = room_.session_ms > 0 && time_ >= scans(room_.session_ms);
  const bool solved = is_first() && finished();
  if (!over && !solved && !commands.end) return;
  coverage_.hit(over ? Rule::ends_by_length : solved ? Rule::ends_by_finish : Rule::ends_by_operator);
  phase_ = Phase::ended;
}

bool Controller::inputs_known() const {
  return std::all_of(mine_.begin(), mine_.end(), [&](model::InputId id) {
    const InputState& state = inputs_[index(id)];
    return state.known || state.lost || room_.inputs[index(id)].kind == model::InputKind::operator_button;
  });
}

/// Facts of the snapshot (4.8).
void Controller::readies_and_tells() {
  tells_.clear();
  for (std::size_t p = 0; p < room_.props.size(); ++p) {
    if (!owns(p)) continue;
    const model::Prop& row = room_.props[p];
    for (std::size_t n = 0; n < row.readies.size(); ++n) {
      ReadyState& ready = readies_[p][n];
      ready.run = holds(row.readies[n].condition) ? ready.run + 1 : -1;
      const std::int64_t hold = row.readies[n].hold_ms > 0 ? scans(row.readies[n].hold_ms) : 0;
      ready.holds = ready.run >= hold && ready.run >= 0;
      coverage_.hit(ready.holds ? Rule::ready_met : Rule::ready_not_met);
    }
    if (!props_[p].state) continue;
    for (const std::size_t b : bodies(p, *props_[p].state)) {
      const auto& tells = row.bodies[b].tells;
      for (std::size_t n = 0; n < tells.size(); ++n)
        if (!tells[n].while_ || holds(*tells[n].while_)) {
          tells_.insert({p, b, n});
          coverage_.hit(Rule::tell);
        }
    }
  }
}

bool Controller::told(model::PropId prop, std::size_t body, std::size_t n) const {
  return tells_.count({index(prop), body, n}) != 0;
}

/// An edge belongs to one scan; what a late scan counts again has none (1.2).
void Controller::forget_moment() {
  count_stirs();
  for (InputState& input : inputs_) input.edge = input.stirs = false;
  for (PeerState& peer : peers_) peer.stirs = false;
}

}  // namespace lw::oracle

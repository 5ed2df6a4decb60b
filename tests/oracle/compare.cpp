// What of the two is compared after each scan.
#include <algorithm>

#include "duel.hpp"

namespace lw::oracle {

using model::index;

namespace {

/// Notes the first difference only.
template <class A, class B>
void expect(std::string& difference, const std::string& what, A oracle, B runtime) {
  if (!difference.empty() || static_cast<std::int64_t>(oracle) == static_cast<std::int64_t>(runtime)) return;
  difference = what + ": expected " + std::to_string(static_cast<std::int64_t>(oracle)) +
               ", the runtime has " + std::to_string(static_cast<std::int64_t>(runtime));
}

std::int64_t scans(const lw_table& table, std::int64_t ms) {
  return (ms + table.scan_ms - 1) / table.scan_ms;
}

}  // namespace

bool Duel::holds(std::size_t c, std::uint8_t kind, std::uint32_t a, std::uint32_t b,
                 std::uint32_t third) const {
  return api_.holds(&seats_[c].table, seats_[c].block.data(), kind, a, b, third) != 0;
}

std::optional<std::string> Duel::compare(std::size_t c) const {
  std::string difference;
  compare_inputs(c, difference);
  compare_session(c, difference);
  compare_props(c, difference);
  compare_outputs(c, difference);
  if (difference.empty()) {
    compare_promises(difference);
    return difference.empty() ? std::nullopt : std::optional<std::string>(difference);
  }
  return room_.controllers[c].name + ": " + difference;
}

void Duel::compare_inputs(std::size_t c, std::string& difference) const {
  const Controller& oracle = *seats_[c].oracle;
  const ControllerTable& from = tables_.controllers[c];
  for (std::size_t row = 0; row < from.inputs.size(); ++row) {
    const model::InputId id = from.inputs[row];
    const model::Input& input = room_.inputs[index(id)];
    const auto at = static_cast<std::uint32_t>(row);
    const InputState& state = oracle.input(id);
    expect(difference, input.name + " lost", state.lost, holds(c, LW_FACT_input_lost, at, 0, 0));
    if (input.kind == model::InputKind::operator_button) continue;
    const bool usable = state.known && !state.lost;
    expect(difference, input.name + " has a value", usable, holds(c, LW_FACT_input_in, at, 0, 254));
    if (input.kind == model::InputKind::scale || input.kind == model::InputKind::gauge) {
      expect(difference, input.name + " moving", oracle.moving(id), holds(c, LW_FACT_input_moving, at, 0, 0));
      continue;
    }
    if (!usable) continue;
    const auto value = static_cast<std::uint32_t>(
        input.kind != model::InputKind::reader ? state.value
        : state.tag.empty()
            ? 0
            : api_.tag(&seats_[c].table, reinterpret_cast<const std::uint8_t*>(state.tag.data()),
                       static_cast<std::uint8_t>(state.tag.size())));
    expect(difference, input.name + " is " + std::to_string(value), true,
           holds(c, LW_FACT_input_in, at, value, value));
  }
  // Windows by the cells that they cover; one that no condition reads has no cells of its own.
  for (std::size_t p = 0; p < room_.props.size(); ++p)
    for (std::size_t w = 0; w < room_.props[p].windows.size(); ++w) {
      const model::Window& window = room_.props[p].windows[w];
      const auto found = std::find(from.inputs.begin(), from.inputs.end(), window.input);
      if (found == from.inputs.end() || window.is_empty) continue;
      const auto row = static_cast<std::size_t>(found - from.inputs.begin());
      const std::vector<std::int32_t>& edges = from.rows.inputs[row].edges;
      const auto cell = [&](std::int64_t value) {
        return static_cast<std::uint32_t>(
            std::count_if(edges.begin(), edges.end(), [&](std::int32_t edge) { return edge <= value; }));
      };
      const auto is_edge = [&](std::int64_t value) {
        return std::find(edges.begin(), edges.end(), value) != edges.end();
      };
      if (window.low && window.high && *window.low > *window.high) continue;
      if ((window.low && !is_edge(*window.low)) || (window.high && !is_edge(*window.high + 1))) continue;
      model::Fact fact;
      fact.kind = model::FactKind::in_window;
      fact.input = window.input;
      fact.prop = model::PropId(p);
      fact.window = model::WindowId(w);
      expect(difference, window.name, oracle.holds(fact),
             holds(c, LW_FACT_input_in, static_cast<std::uint32_t>(row), window.low ? cell(*window.low) : 0,
                   window.high ? cell(*window.high) : static_cast<std::uint32_t>(edges.size())));
    }
}

void Duel::compare_session(std::size_t c, std::string& difference) const {
  const Seat& seat = seats_[c];
  const Controller& oracle = *seat.oracle;
  const auto phase = static_cast<std::uint32_t>(oracle.phase());
  std::uint32_t shown = 3;
  for (std::uint32_t one = 0; one < 3; ++one)
    if (holds(c, LW_FACT_session_in, one, one, 0)) shown = one;
  expect(difference, "session's phase", phase, shown);
  if (oracle.phase() != Phase::idle) {
    const auto time = static_cast<std::uint32_t>(oracle.time());
    const bool exact =
        holds(c, LW_FACT_session_from, time, 0, 0) && !holds(c, LW_FACT_session_from, time + 1, 0, 0);
    expect(difference, "session's time is " + std::to_string(time) + " scans", true, exact);
  }
  const auto& peers = tables_.controllers[c].rows.link.peers;
  for (std::size_t n = 0; n < peers.size(); ++n)
    expect(difference, room_.controllers[peers[n].controller].name + " lost",
           oracle.peer_lost(model::ControllerId(peers[n].controller)),
           holds(c, LW_FACT_peer_lost, static_cast<std::uint32_t>(n), 0, 0));
  const auto& cues = tables_.controllers[c].cues;
  for (std::size_t n = 0; n < cues.size(); ++n)
    expect(difference, room_.cues[index(cues[n])].name + " sent", oracle.sent(cues[n]),
           api_.cue(&seat.table, seat.block.data(), static_cast<std::uint8_t>(n)));
}

void Duel::compare_props(std::size_t c, std::string& difference) const {
  const Seat& seat = seats_[c];
  const Controller& oracle = *seat.oracle;
  const ControllerTable& from = tables_.controllers[c];
  const std::uint8_t* const block = seat.block.data();
  const std::uint8_t* const arena = block + seat.table.arena;
  for (std::size_t p = 0; p < room_.props.size(); ++p) {
    const model::Prop& prop = room_.props[p];
    if (index(prop.controller) != c) continue;
    const PropState& state = oracle.prop(model::PropId(p));
    const std::uint8_t row = tables_.props[p].row;
    expect(difference, prop.name + "'s state", state.state ? index(*state.state) + 1 : 0,
           block[seat.table.prop_states + row]);
    expect(difference, prop.name + " solved", state.solved, block[seat.table.prop_solved + row]);
    // What is declared in a state has a place of its own only while the prop is in it.
    const auto lives = [&](const model::Owned& owned) {
      if (!state.state) return false;
      if (!owned.body) return true;
      const auto& bodies = prop.states[index(*state.state)].bodies;
      return std::find(bodies.begin(), bodies.end(), *owned.body) != bodies.end();
    };
    for (std::size_t n = 0; n < prop.timers.size(); ++n) {
      const int at = seat.timers[p][n];
      if (at < 0 || !lives(prop.timers[n])) continue;
      const std::uint8_t* const bytes = arena + from.rows.timers[static_cast<std::size_t>(at)].place;
      const std::uint32_t value = bytes[0] | std::uint32_t{bytes[1]} << 8 | std::uint32_t{bytes[2]} << 16 |
                                  std::uint32_t{bytes[3]} << 24;
      const TimerState& timer = state.timers[n];
      const std::int64_t length = scans(seat.table, prop.timers[n].length_ms);
      expect(difference, prop.name + "." + prop.timers[n].name,
             timer.started ? 1 + std::min(timer.gone, length) : 0, value);
    }
    for (std::size_t n = 0; n < prop.counters.size(); ++n) {
      const int at = seat.counters[p][n];
      if (at < 0 || !lives(prop.counters[n])) continue;
      expect(difference, prop.name + "." + prop.counters[n].name, state.counters[n],
             arena[from.rows.counters[static_cast<std::size_t>(at)].place] + prop.counters[n].low);
    }
    for (std::size_t n = 0; n < prop.sequences.size(); ++n) {
      const int at = seat.sequences[p][n];
      if (at < 0) continue;
      const auto sequence = static_cast<std::size_t>(at);
      const std::string name = prop.name + "." + prop.sequences[n].name;
      if (lives(prop.sequences[n]))
        expect(difference, name, state.sequences[n].place, arena[from.rows.sequences[sequence].place]);
      const auto moment = [&](const char* what, bool oracle_has, int fact) {
        if (fact >= 0)
          expect(difference, name + what, oracle_has,
                 api_.fact(&seat.table, block, static_cast<std::uint16_t>(fact)));
      };
      moment(" done", oracle.was_done(model::PropId(p), n), seat.done_fact[sequence]);
      moment(" wrong", oracle.was_wrong(model::PropId(p), n), seat.wrong_fact[sequence]);
    }
    for (std::size_t n = 0; n < prop.readies.size(); ++n)
      expect(difference, prop.readies[n].words, oracle.ready(model::PropId(p), n),
             api_.ready(&seat.table, block, static_cast<std::uint8_t>(seat.readies[p][n])));
    for (std::size_t b = 0; b < prop.bodies.size(); ++b)
      for (std::size_t n = 0; n < prop.bodies[b].tells.size(); ++n)
        expect(difference, prop.bodies[b].tells[n].words, oracle.told(model::PropId(p), b, n),
               api_.tell(&seat.table, block, static_cast<std::uint8_t>(seat.tells[p][b][n])));
  }
}

void Duel::compare_outputs(std::size_t c, std::string& difference) const {
  const Seat& seat = seats_[c];
  const Controller& oracle = *seat.oracle;
  for (std::size_t n = 0; n < room_.outputs.size(); ++n) {
    const model::Output& row = room_.outputs[n];
    if (index(row.controller) != c) continue;
    const std::uint8_t at = tables_.outputs[n].row;
    const OutputState& output = oracle.output(model::OutputId(n));
    if (row.kind == model::OutputKind::voice) {
      const lw_sound sound = api_.voice(&seat.table, seat.block.data(), at);
      expect(difference, row.name + " sounds", output.sounds, sound.sounds);
      if (!output.sounds) continue;
      expect(difference, row.name + "'s clip", index(output.clip),
             index(tables_.controllers[c].clips[sound.clip]));
      expect(difference, row.name + "'s percent", output.loud, sound.percent);
      expect(difference, row.name + " begins", output.begins, sound.begins);
      continue;
    }
    expect(difference, row.name + "'s percent", oracle.percent(model::OutputId(n)),
           api_.output(&seat.table, seat.block.data(), at));
    expect(difference, row.name + " blinking", output.level.kind == model::LevelKind::blinking,
           holds(c, LW_FACT_output_is, at, LW_OUTPUT_is_blinking, 0));
  }
}

// ---- Questions about the whole room (10.1)
// ----------------------------------------------------------------------

bool Duel::visible(const model::Cond& cond) const {
  using model::CondKind;
  if (cond.kind == CondKind::fact) {
    // A level is that of its output, a session fact that of the controller that keeps the session (10.4).
    if (const auto owner = home(room_, cond.fact)) return seats_[index(*owner)].oracle->holds(cond.fact);
    if (cond.fact.kind == model::FactKind::controller_lost)  // to any that should hear it
      return std::any_of(seats_.begin(), seats_.end(),
                         [&](const Seat& seat) { return seat.oracle->peer_lost(cond.fact.controller); });
    for (const Seat& seat : seats_)  // a signal is asked of the first that reads it
      if (cond.fact.kind <= model::FactKind::signal_off && seat.oracle->has_input(cond.fact.input))
        return seat.oracle->holds(cond.fact);
    return seats_.front().oracle->holds(cond.fact);
  }
  const auto count = std::count_if(cond.parts.begin(), cond.parts.end(),
                                   [&](const model::Cond& part) { return visible(part); });
  switch (cond.kind) {
    case CondKind::all:
      return count == static_cast<std::ptrdiff_t>(cond.parts.size());
    case CondKind::any:
      return count > 0;
    case CondKind::not_:
      return count == 0;
    case CondKind::at_least:
      return count >= cond.count;
    case CondKind::exactly:
      return count == cond.count;
    default:
      return true;
  }
}

bool Duel::answer(const Question& question) const {
  std::vector<bool> stack;
  return answered(question, stack, [&](const Ask& ask) {
    const Seat& seat = seats_[ask.controller];
    return ask.kind == Ask::Kind::fact
               ? holds(ask.controller, static_cast<std::uint8_t>(ask.fact.kind), ask.fact.a, ask.fact.b,
                       ask.fact.c)
               : api_.fact(&seat.table, seat.block.data(), static_cast<std::uint16_t>(ask.a)) != 0;
  });
}

void Duel::compare_promises(std::string& difference) const {
  for (std::size_t n = 0; n < room_.promises.size(); ++n)
    expect(difference, "promise \"" + room_.promises[n].title + "\" speaks of what",
           visible(room_.promises[n].condition), answer(tables_.promise_conditions[n]));
}

}  // namespace lw::oracle

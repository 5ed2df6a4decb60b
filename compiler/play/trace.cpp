// See trace.hpp.
#include "play/trace.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "text/quantity.hpp"

namespace lw {

using model::index;

namespace {

// Answers of one instant and line share a row of the timeline up to this width.
constexpr std::size_t kRowWidth = 44;
constexpr std::int64_t kUsualPress_ms = 200;

std::string bytes_words(const std::string& tag) {
  std::string text;
  for (const char byte : tag)
    text += fmt::format("{}{:02X}", text.empty() ? "" : " ", static_cast<unsigned char>(byte));
  return text;
}

std::string time(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

}  // namespace

std::string deed_words(const model::Room& room, const model::Deed& deed) {
  using model::DeedKind;
  const auto device = [&]() -> const model::Input& { return room.inputs[index(*deed.input)]; };
  const auto things = [&] {
    const std::string& name = room.things[index(deed.thing)].name;
    return deed.count == 1 ? name : fmt::format("{} x {}", deed.count, name);
  };
  const auto controller = [&]() -> const std::string& {
    return room.controllers[index(*deed.controller)].name;
  };
  switch (deed.kind) {
    case DeedKind::expect:
      return "";
    case DeedKind::place:
      return fmt::format("{} put on {}", things(), device().name);
    case DeedKind::take:
      return fmt::format("{} taken off {}", things(), device().name);
    case DeedKind::load:
      return deed.value == 0 ? fmt::format("hand taken off {}", device().name)
                             : fmt::format("{} laid on {}", format_quantity({deed.value, device().dimension}),
                                           device().name);
    case DeedKind::place_tag:
      return fmt::format("tag {} put on {}", bytes_words(deed.text), device().name);
    case DeedKind::take_tag:
      return fmt::format("tag {} taken off {}", bytes_words(deed.text), device().name);
    case DeedKind::press:
      if (device().kind == model::InputKind::operator_button)
        return fmt::format("operator presses {}", device().name);
      return deed.value == kUsualPress_ms ? fmt::format("{} pressed", device().name)
                                          : fmt::format("{} pressed for {}", device().name, time(deed.value));
    case DeedKind::set:
      if (device().kind == model::InputKind::signal)
        return fmt::format("{} turned {}", device().name, deed.value != 0 ? "on" : "off");
      return fmt::format("{} {}", device().name, deed.value != 0 ? device().closed_word : device().open_word);
    case DeedKind::turn:
      return fmt::format("{} turned to {}", device().name,
                         format_quantity({device().from + deed.value, device().dimension}));
    case DeedKind::type:
      return fmt::format("\"{}\" typed on {}", deed.text, device().name);
    case DeedKind::lose:
      if (deed.link) return fmt::format("{} cut", room.links[index(*deed.link)].name);
      return fmt::format("{} falls silent", deed.controller ? controller() : device().name);
    case DeedKind::restore:
      if (deed.link) return fmt::format("{} joined again", room.links[index(*deed.link)].name);
      return fmt::format("{} answers again", deed.controller ? controller() : device().name);
    case DeedKind::restart:
      return fmt::format("{} loses power and comes back", controller());
    case DeedKind::delay:
      return fmt::format("messages on {} take {} from now on", room.links[index(*deed.link)].name,
                         time(deed.value));
    case DeedKind::shift:
      return fmt::format("{} scans {} later than the others", controller(), time(deed.value));
    case DeedKind::operator_start:
      return "operator starts the session";
    case DeedKind::operator_end:
      return "operator ends the session";
    case DeedKind::operator_reset:
      return "operator resets the room";
    case DeedKind::operator_override:
      return fmt::format("operator overrides {}", room.props[index(*deed.prop)].name);
  }
  return "";
}

// ---- Telling
// --------------------------------------------------------------------------------------------------------

Trace::Trace(const RoomRun& run) : words_(run), now_ms_(run.now_ms()) {
  for (std::size_t c = 0; c < run.controllers(); ++c) seen_.push_back(see(run, c));
}

void Trace::happens(std::int64_t at_ms, std::string words) {
  told_.push_back(Told{at_ms, false, std::move(words), 0});
}

void Trace::answers(std::string words, std::uint32_t line) {
  told_.push_back(Told{now_ms_, true, std::move(words), line});
}

std::vector<Event> Trace::events(std::int64_t zero_ms, std::int64_t from_ms, std::int64_t to_ms) const {
  std::vector<Event> events;
  for (std::size_t n = 0; n < told_.size();) {
    const std::int64_t at_ms = told_[n].at_ms;
    // One instant: what is done in one column, what is answered in the other, by line.
    std::vector<std::string> done;
    std::vector<Told> answered;
    for (; n < told_.size() && told_[n].at_ms == at_ms; ++n) {
      const Told& told = told_[n];
      if (!told.by_room) {
        done.push_back(told.words);
        continue;
      }
      const auto same = std::find_if(answered.rbegin(), answered.rend(), [&](const Told& row) {
        return row.line == told.line && row.words.size() + told.words.size() + 2 <= kRowWidth;
      });
      if (same == answered.rend())
        answered.push_back(told);
      else
        same->words += ", " + told.words;
    }
    if (at_ms < from_ms || at_ms > to_ms) continue;
    for (std::size_t row = 0; row < std::max(done.size(), answered.size()); ++row) {
      Event event;
      if (row == 0) event.time = clock_words(at_ms - zero_ms);
      if (row < done.size()) event.happens = done[row];
      if (row < answered.size()) {
        event.answers = answered[row].words;
        event.line = answered[row].line;
      }
      events.push_back(std::move(event));
    }
  }
  return events;
}

// ---- Looking
// --------------------------------------------------------------------------------------------------------

Trace::Seen Trace::see(const RoomRun& run, std::size_t c) const {
  const rows::Table& rows = run.rows(c);
  Seen seen;
  seen.phase = run.phase(c);
  for (std::size_t n = 0; n < rows.outputs.size(); ++n) {
    seen.levels.push_back(run.level(c, n));
    const lw_sound sound = rows.outputs[n].voice ? run.voice(c, n) : lw_sound{};
    seen.sounding.push_back(static_cast<std::uint8_t>(sound.sounds ? sound.clip + 1 : 0));
  }
  for (std::size_t n = 0; n < rows.counters.size(); ++n) seen.counters.push_back(run.counter(c, n));
  for (std::size_t n = 0; n < rows.timers.size(); ++n) seen.timers.push_back(run.timer(c, n));
  for (std::size_t n = 0; n < rows.sequences.size(); ++n) seen.steps.push_back(run.steps_met(c, n));
  for (std::size_t n = 0; n < rows.inputs.size(); ++n) {
    seen.lost.push_back(run.lost(c, n));
    seen.moving.push_back(run.moving(c, n));
    seen.down.push_back(rows.inputs[n].kind == rows::InputKind::button && run.raw(c, n).value != 0);
  }
  for (std::uint32_t n = 0; n < rows.link.peers.size(); ++n)
    seen.peers_lost.push_back(run.holds(c, rows::RawFact{rows::FactKind::peer_lost, n, 0, 0, {}}));
  for (const rows::Literal tell : rows.tells) seen.tells.push_back(run.literal_was(c, tell));
  return seen;
}

void Trace::look(const RoomRun& run, const Firings& firings) {
  now_ms_ = run.now_ms();
  for (const std::uint8_t c : run.scanned()) look(run, firings, c);
}

void Trace::look(const RoomRun& run, const Firings& firings, std::size_t c) {
  const Seen now = see(run, c);
  const Seen& before = seen_[c];
  look_at_inputs(run, c, before, now);
  if (c == 0) look_at_session(run, before, now);
  look_at_props(run, firings.last(), c);
  look_at_outputs(run, c, before, now);
  look_at_rest(run, c, before, now);
  seen_[c] = now;
}

void Trace::look_at_inputs(const RoomRun& run, std::size_t c, const Seen& before, const Seen& now) {
  for (std::size_t n = 0; n < now.lost.size(); ++n) {
    const rows::InputKind kind = run.rows(c).inputs[n].kind;
    const bool weighs = kind == rows::InputKind::scale || kind == rows::InputKind::gauge;
    const std::string& name = words_.input(c, n);
    std::string settled;
    if (weighs && !now.moving[n] && !now.lost[n]) {
      settled = words_.reading(c, n);
      for (const std::string& window : words_.windows(c, n)) settled += fmt::format(", `{}`", window);
    }
    if (now.lost[n] && !before.lost[n])
      happens(now_ms_, fmt::format("{} is lost", name));
    else if (!now.lost[n] && before.lost[n])
      happens(now_ms_, weighs ? fmt::format("{} is found again at {}", name, settled)
                              : fmt::format("{} is found again", name));
    else if (weighs && before.moving[n] && !now.moving[n])
      happens(now_ms_, fmt::format("{} settles at {}", name, settled));
    if (before.down[n] && !now.down[n]) happens(now_ms_, fmt::format("{} let go", name));
  }
  for (std::size_t n = 0; n < now.peers_lost.size(); ++n) {
    if (now.peers_lost[n] == before.peers_lost[n]) continue;
    const std::string& other = words_.controller(run.rows(c).link.peers[n].controller);
    happens(now_ms_, now.peers_lost[n] ? fmt::format("{} is lost to {}", other, words_.controller(c))
                                       : fmt::format("{} hears {} again", words_.controller(c), other));
  }
}

void Trace::look_at_session(const RoomRun& run, const Seen& before, const Seen& now) {
  if (now.phase == before.phase) return;
  if (now.phase == 0) {
    answers("the session is idle", 0);
  } else if (now.phase == 1) {
    // An operator's start is a deed, and told as one.
    if (run.room().starts != model::SessionStart::by_operator) answers("the session starts", 0);
  } else {
    answers("the session ends", 0);
  }
}

void Trace::look_at_props(const RoomRun& run, const std::vector<PropStep>& steps, std::size_t c) {
  causes_.clear();
  const rows::Table& rows = run.rows(c);
  const Symbols& symbols = run.symbols(c);
  const auto cause = [&](int list, std::uint32_t line) {
    if (list < 0) return;
    for (const rows::Action& action : rows.actions[static_cast<std::size_t>(list)])
      causes_.push_back(Cause{action, line});
  };
  for (const PropStep& step : steps) {
    if (step.controller != c) continue;
    const std::string& name = words_.prop(c, step.prop);
    const std::vector<rows::State>& states = rows.props[step.prop].states;
    std::uint32_t line = 0;
    if (step.kind == PropStep::Kind::acted || step.kind == PropStep::Kind::moved) {
      line = symbols.bodies[step.rule.body].rules[step.rule.rule].line;
      cause(rows.bodies[step.rule.body].rules[step.rule.rule].actions, line);
    }
    if (step.kind == PropStep::Kind::acted) continue;
    if (step.from != 0)
      for (const std::uint16_t body : states[step.from - 1u].bodies) cause(rows.bodies[body].leave, line);
    if (step.to != 0)
      for (const std::uint16_t body : states[step.to - 1u].bodies) cause(rows.bodies[body].enter, line);
    if (step.from == step.to)
      answers(fmt::format("{} begins {} anew", name, words_.state(c, step.prop, step.to)), line);
    else
      answers(fmt::format("{} is {}{}", name, words_.state(c, step.prop, step.to),
                          step.newly_solved ? ": solved" : ""),
              line);
  }
}

/// The line of the state's `keep` that asks the output for what it shows now; 0 when none does.
std::uint32_t Trace::keep_line(const RoomRun& run, std::size_t c, std::size_t output) const {
  const rows::Table& rows = run.rows(c);
  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    const std::uint8_t state = run.state(c, p);
    if (state == 0) continue;
    for (const std::uint16_t body : rows.props[p].states[state - 1u].bodies)
      for (std::size_t n = 0; n < rows.bodies[body].keeps.size(); ++n) {
        const rows::Keep& keep = rows.bodies[body].keeps[n];
        if (keep.output == output && keep.level == run.level(c, output) &&
            (!keep.has_while || run.literal_was(c, keep.while_)))
          return run.symbols(c).bodies[body].keeps[n].line;
      }
  }
  return 0;
}

void Trace::look_at_outputs(const RoomRun& run, std::size_t c, const Seen& before, const Seen& now) {
  const rows::Table& rows = run.rows(c);
  for (std::size_t n = 0; n < rows.outputs.size(); ++n) {
    if (rows.outputs[n].voice) {
      look_at_voice(run, c, n, before);
      continue;
    }
    if (now.levels[n] == before.levels[n]) continue;
    const bool blinks = rows.levels[now.levels[n]].kind == rows::LevelKind::blinking;
    std::string words =
        fmt::format("{} {}", words_.output(c, n), blinks ? "blinks" : words_.level(c, n, now.levels[n]));
    std::uint32_t line = 0;
    for (const Cause& cause : causes_)
      if (cause.action.kind == rows::ActionKind::keep && rows.drives[cause.action.index].output == n &&
          cause.action.level == now.levels[n]) {
        words += " for " + words_.scans(c, cause.action.n);
        line = cause.line;
        break;
      }
    answers(std::move(words), line != 0 ? line : keep_line(run, c, n));
  }
}

void Trace::look_at_voice(const RoomRun& run, std::size_t c, std::size_t n, const Seen& before) {
  const lw_sound sound = run.voice(c, n);
  if (!sound.sounds) {
    if (before.sounding[n]) answers(fmt::format("{} is silent", words_.output(c, n)), 0);
    return;
  }
  if (!sound.begins) return;
  std::uint32_t line = 0;
  for (const Cause& cause : causes_)
    if (cause.action.kind == rows::ActionKind::play && cause.action.index == n) line = cause.line;
  // A `keep` that starts its clip again and again is told once.
  if (line == 0 && before.sounding[n] == sound.clip + 1) return;
  answers(fmt::format("{} plays on {}", words_.clip(c, sound.clip), words_.output(c, n)),
          line != 0 ? line : keep_line(run, c, n));
}

void Trace::look_at_rest(const RoomRun& run, std::size_t c, const Seen& before, const Seen& now) {
  const rows::Table& rows = run.rows(c);
  const Symbols& symbols = run.symbols(c);
  const auto line_of = [&](std::initializer_list<rows::ActionKind> kinds, std::size_t n) {
    for (const Cause& cause : causes_)
      if (cause.action.index == n && std::find(kinds.begin(), kinds.end(), cause.action.kind) != kinds.end())
        return cause.line;
    return std::uint32_t{0};
  };
  for (std::size_t n = 0; n < rows.counters.size(); ++n)
    if (now.counters[n] != before.counters[n])
      answers(fmt::format("{} is {}", symbols.counters[n].name, words_.counter(c, n)),
              line_of({rows::ActionKind::change, rows::ActionKind::set}, n));
  for (std::size_t n = 0; n < rows.timers.size(); ++n) {
    const std::uint32_t done = rows.timers[n].length + 1;
    const std::string& name = symbols.timers[n].name;
    if (now.timers[n] == 1)
      answers(fmt::format("{} starts", name), line_of({rows::ActionKind::start}, n));
    else if (now.timers[n] == done && before.timers[n] != done)
      answers(fmt::format("{} is done", name), 0);
    else if (now.timers[n] == 0 && before.timers[n] != 0)
      answers(fmt::format("{} stops", name), line_of({rows::ActionKind::stop}, n));
  }
  for (std::size_t n = 0; n < rows.sequences.size(); ++n)
    if (now.steps[n] != before.steps[n])
      answers(fmt::format("{} at step {} of {}", symbols.sequences[n].name, now.steps[n],
                          rows.sequences[n].steps.size()),
              0);
  for (std::uint8_t n = 0; n < rows.link.cues; ++n)
    if (lw_cue(&run.table(c), run.block(c), n))
      answers(fmt::format("{} sent", symbols.cues[n].name), line_of({rows::ActionKind::send}, n));
  for (std::size_t n = 0; n < rows.tells.size(); ++n)
    if (now.tells[n] && !before.tells[n])
      answers(fmt::format("operator is told \"{}\"", symbols.tells[n].name), symbols.tells[n].line);
}

}  // namespace lw

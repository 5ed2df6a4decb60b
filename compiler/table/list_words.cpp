#include "table/list_words.hpp"

#include <fmt/format.h>

#include <array>

#include "text/quantity.hpp"

namespace lw::listing {
namespace {

using rows::FactKind;
using rows::InputKind;

std::string named(const Symbol* symbol, const char* what, std::size_t n) {
  return symbol && !symbol->name.empty() ? shown(symbol->name) : fmt::format("{} {}", what, n);
}

/// Two names that are `steps` apart.
std::string range(const std::string& low, const std::string& high, std::size_t steps) {
  return steps == 0 ? low : fmt::format("{} {} {}", low, steps == 1 ? "or" : "to", high);
}

}  // namespace

std::string shown(const std::string& name) {
  std::string text;
  for (std::size_t n = 0; n < name.size();) {
    const auto byte = static_cast<unsigned char>(name[n]);
    const std::size_t size = byte < 0x80    ? 1u
                             : byte >= 0xF0 ? 4u
                             : byte >= 0xE0 ? 3u
                             : byte >= 0xC2 ? 2u
                                            : 0u;
    bool whole = size != 0 && byte < 0xF5 && n + size <= name.size();
    for (std::size_t k = 1; whole && k < size; ++k)
      whole = (static_cast<unsigned char>(name[n + k]) & 0xC0) == 0x80;
    // C0 and C1 controls and DEL would drive the terminal.
    const bool control = byte < 0x20 || byte == 0x7F ||
                         (byte == 0xC2 && whole && static_cast<unsigned char>(name[n + 1]) < 0xA0);
    text += whole && !control ? name.substr(n, size) : "?";
    n += whole ? size : 1;
  }
  return text;
}

std::string plural(std::size_t n, const char* what) {
  return fmt::format("{} {}{}", n, what, n == 1 ? "" : "s");
}

std::string joined(const std::vector<std::string>& parts, const char* between) {
  std::string text;
  for (const std::string& part : parts) {
    if (part.empty()) continue;
    if (!text.empty()) text += between;
    text += part;
  }
  return text;
}

std::string ends(const std::string& low, const std::string& high) {
  return low == high ? low : fmt::format("{} to {}", low, high);
}

std::string arena(std::size_t place, std::size_t bytes) {
  return "arena " + ends(std::to_string(place), std::to_string(place + bytes - 1));
}

const Symbol* symbol_at(const std::vector<Symbol>& all, std::size_t n) {
  return n < all.size() ? &all[n] : nullptr;
}

std::string Words::duration(std::uint64_t scans) const {
  return fmt::format("{} ({})", plural(scans, "scan"),
                     format_quantity({static_cast<std::int64_t>(scans * t_.scan_ms), Dimension::time}));
}

std::string Words::controller(std::size_t n) const {
  return s_ && n < s_->controllers.size() ? shown(s_->controllers[n]) : fmt::format("controller {}", n);
}
std::string Words::peer(std::size_t n) const {
  return n < t_.link.peers.size() ? controller(t_.link.peers[n].controller) : fmt::format("peer {}", n);
}
std::string Words::input(std::size_t n) const {
  return named(s_ && n < s_->inputs.size() ? &s_->inputs[n].input : nullptr, "input", n);
}
std::string Words::output(std::size_t n) const {
  return named(s_ && n < s_->outputs.size() ? &s_->outputs[n].output : nullptr, "output", n);
}
std::string Words::tag(std::size_t n) const { return named(s_ ? symbol_at(s_->tags, n) : nullptr, "tag", n); }
std::string Words::clip(std::size_t n) const {
  return named(s_ ? symbol_at(s_->clips, n) : nullptr, "clip", n);
}
std::string Words::timer(std::size_t n) const {
  return named(s_ ? symbol_at(s_->timers, n) : nullptr, "timer", n);
}
std::string Words::counter(std::size_t n) const {
  return named(s_ ? symbol_at(s_->counters, n) : nullptr, "counter", n);
}
std::string Words::sequence(std::size_t n) const {
  return named(s_ ? symbol_at(s_->sequences, n) : nullptr, "sequence", n);
}
std::string Words::cue(std::size_t n) const { return named(s_ ? symbol_at(s_->cues, n) : nullptr, "cue", n); }
std::string Words::prop(std::size_t n) const {
  return named(s_ && n < s_->props.size() ? &s_->props[n].prop : nullptr, "prop", n);
}
std::string Words::state(std::size_t prop, std::size_t state) const {
  if (state == 0) return "waiting";
  return named(s_ && prop < s_->props.size() ? symbol_at(s_->props[prop].states, state - 1) : nullptr,
               "state", state);
}

/// In divisions, since there are no names: a cell lies between two edges.
std::string Words::cells(std::size_t input, std::size_t low, std::size_t high) const {
  const std::vector<std::int32_t>& edges = t_.inputs[input].edges;
  if (low > edges.size()) return fmt::format("in cell {}, which is not there", low);
  if (low == 0 && high >= edges.size()) return "at any value";
  if (low == 0) return fmt::format("up to {} divisions", edges[high] - 1);
  if (high >= edges.size()) return fmt::format("from {} divisions", edges[low - 1]);
  return ends(std::to_string(edges[low - 1]), std::to_string(edges[high] - 1)) + " divisions";
}

std::string Words::input_value(std::size_t input, std::size_t n) const {
  const rows::Input& r = t_.inputs[input];
  const std::string reads = r.kind == InputKind::reader ? "reads " : "";
  if (s_ && input < s_->inputs.size() && n < s_->inputs[input].values.size())
    return reads + shown(s_->inputs[input].values[n]);
  switch (r.kind) {
    case InputKind::contact:
      return n == 0 ? "open" : "closed";
    case InputKind::button:
    case InputKind::operator_button:
      return n == 0 ? "up" : "held";
    case InputKind::reader:
      return reads + (n == 0 ? "nothing" : n > t_.tags.size() ? "another tag" : tag(n - 1));
    case InputKind::keypad:
      if (n == 0) return "no key";
      return n > 0x20 && n < 0x7F ? fmt::format("key {}", static_cast<char>(n))
                                  : fmt::format("key {:02X}", n);
    case InputKind::signal:
      return n == 0 ? "off" : "on";
    default:
      return cells(input, n, n);
  }
}

std::string Words::level(std::size_t n) const {
  const rows::Level& r = t_.levels[n];
  switch (r.kind) {
    case rows::LevelKind::off:
      return "off";
    case rows::LevelKind::on:
      return "on";
    case rows::LevelKind::at:
      return fmt::format("at {} %", r.value);
    case rows::LevelKind::blinking:
      return "blinking every " + duration(r.value);
    case rows::LevelKind::playing:
      return "playing " + clip(r.value);
  }
  return {};
}

std::string Words::level(std::size_t n, std::size_t output) const {
  const rows::LevelKind kind = t_.levels[n].kind;
  if (s_ && output < s_->outputs.size()) {
    const OutputSymbols& own = s_->outputs[output];
    if (kind == rows::LevelKind::off && !own.off_word.empty()) return shown(own.off_word);
    if (kind == rows::LevelKind::on && !own.on_word.empty()) return shown(own.on_word);
  }
  return level(n);
}

std::string Words::output_test(std::size_t output, std::size_t test) const {
  if (test > 128) return fmt::format("at {} %", test - 128);
  if (test == 2) return "blinking";
  if (s_ && output < s_->outputs.size()) {
    const std::string& word = test == 0 ? s_->outputs[output].off_word : s_->outputs[output].on_word;
    if (!word.empty()) return shown(word);
  }
  if (t_.outputs[output].voice) return test == 0 ? "silent" : "playing";
  return test == 0 ? "off" : "on";
}

std::string Words::raw(const rows::RawFact& r) const {
  constexpr std::array<const char*, 3> kPhases = {"idle", "running", "ended"};
  switch (r.kind) {
    case FactKind::input_in: {
      const std::string low = input_value(r.a, r.b), high = input_value(r.a, r.c);
      const bool measured =
          t_.inputs[r.a].kind == InputKind::scale || t_.inputs[r.a].kind == InputKind::gauge;
      if (r.b == r.c || !measured) return fmt::format("{} {}", input(r.a), range(low, high, r.c - r.b));
      if (!s_) return fmt::format("{} {}", input(r.a), cells(r.a, r.b, r.c));
      return fmt::format("{} in cells {} to {} ({}; {})", input(r.a), r.b, r.c, low, high);
    }
    case FactKind::input_lost:
      return input(r.a) + " lost";
    case FactKind::input_moving:
      return input(r.a) + " moving";
    case FactKind::input_edge:
      return input(r.a) + " pressed";
    case FactKind::input_enters:
      return fmt::format("{} enters \"{}\"", input(r.a), shown(r.keys));
    case FactKind::input_stirs:
      return input(r.a) + " lost, found or first known in this scan";
    case FactKind::prop_in:
      return fmt::format("{} {}", prop(r.a), range(state(r.a, r.b), state(r.a, r.c), r.c - r.b));
    case FactKind::prop_solved:
      return prop(r.a) + " solved";
    case FactKind::counter_in:
      return fmt::format("{} {} above its low end", counter(r.a),
                         ends(std::to_string(r.b), std::to_string(r.c)));
    case FactKind::timer_from:
      if (r.b == t_.timers[r.a].length + 1) return timer(r.a) + " done";
      if (r.b == 1) return timer(r.a) + " running or done";
      return fmt::format("{} past {}", timer(r.a), duration(r.b - 1));
    case FactKind::sequence_in:
      return sequence_fact(r.a, {static_cast<std::uint8_t>(r.b), static_cast<std::uint8_t>(r.c)});
    case FactKind::session_in:
      return fmt::format("session {}", range(kPhases[r.a], kPhases[r.b], r.b - r.a));
    case FactKind::session_from:
      return "session past " + duration(r.a);
    case FactKind::output_is:
      return fmt::format("{} {}", output(r.a), output_test(r.a, r.b));
    case FactKind::peer_lost:
      return peer(r.a) + " lost";
    case FactKind::peer_says:
      return fmt::format("{} says its bit {}", peer(r.a), r.b);
    case FactKind::peer_stirs:
      return peer(r.a) + " lost, found or first heard in this scan";
  }
  return {};
}

std::string Words::sequence_fact(std::size_t n, const rows::SequenceFact& r) const {
  if (r.low == rows::kSequenceDone) return sequence(n) + " done";
  if (r.low == rows::kSequenceWrong) return sequence(n) + " wrong";
  return fmt::format("{} with {} steps met", sequence(n),
                     ends(std::to_string(r.low), std::to_string(r.high)));
}

std::string Words::fact(std::size_t n) const {
  if (n == 0) return "true";
  const Symbol* symbol = s_ ? symbol_at(s_->facts, n) : nullptr;
  if (symbol && !symbol->name.empty()) return shown(symbol->name);
  std::size_t left = n - 1;
  if (left < t_.facts.size()) return raw(t_.facts[left]);
  left -= t_.facts.size();
  for (std::size_t s = 0; s < t_.sequences.size(); ++s) {
    if (left < t_.sequences[s].facts.size()) return sequence_fact(s, t_.sequences[s].facts[left]);
    left -= t_.sequences[s].facts.size();
  }
  return fmt::format("fact {}", n);
}

std::string Words::literal(rows::Literal l) const {
  if (l == rows::kFalse) return "false";
  const std::string words = fact(rows::fact_of(l));
  if (!rows::negated(l)) return words;
  return words.find(' ') == std::string::npos ? "not " + words : fmt::format("not ({})", words);
}

std::string Words::derived(const rows::DerivedFact& r) const {
  std::vector<std::string> parts;
  for (const rows::Literal l : r.literals) parts.push_back(literal(l));
  if (r.least == r.literals.size()) return joined(parts, " and ");
  if (r.least == 1) return joined(parts, " or ");
  return fmt::format("at least {} of: {}", r.least, joined(parts, "; "));
}

std::string Words::action(const rows::Action& r) const {
  switch (r.kind) {
    case rows::ActionKind::keep: {
      const std::size_t out = t_.drives[r.index].output;
      return fmt::format("keep {} {} for {}", output(out), level(r.level, out), duration(r.n));
    }
    case rows::ActionKind::play:
      return fmt::format("play {} on {}{}", clip(r.level), output(r.index),
                         r.n == 100 ? "" : fmt::format(" at {} %", r.n));
    case rows::ActionKind::quiet:
      return "quiet " + output(r.index);
    case rows::ActionKind::start:
      return "start " + timer(r.index);
    case rows::ActionKind::stop:
      return "stop " + timer(r.index);
    case rows::ActionKind::change:
      return r.by > 0 ? fmt::format("add {} to {}", r.by, counter(r.index))
                      : fmt::format("take {} from {}", -r.by, counter(r.index));
    case rows::ActionKind::set:
      return fmt::format("set {} to {} above its low end", counter(r.index), r.n);
    case rows::ActionKind::send:
      return "send " + cue(r.index);
  }
  return {};
}

std::string Words::actions(int list) const {
  if (list < 0) return {};
  std::vector<std::string> parts;
  for (const rows::Action& one : t_.actions[static_cast<std::size_t>(list)]) parts.push_back(action(one));
  return fmt::format("{{ {} }} (list {})", joined(parts, ", "), list);
}

}  // namespace lw::listing

// See words.hpp.
#include "play/words.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "text/quantity.hpp"

namespace lw {

using model::index;

std::string clock_words(std::int64_t ms) {
  if (ms < 0) return "-" + clock_words(-ms);
  std::string text;
  if (ms >= 3600000) text += fmt::format("{} h ", ms / 3600000);
  if (ms >= 60000) text += fmt::format("{} min ", ms / 60000 % 60);
  const std::int64_t rest = ms % 60000;
  if (rest % 100 == 0) return text + fmt::format("{}.{} s", rest / 1000, rest % 1000 / 100);
  if (rest % 10 == 0) return text + fmt::format("{}.{:02} s", rest / 1000, rest % 1000 / 10);
  return text + fmt::format("{}.{:03} s", rest / 1000, rest % 1000);
}

std::string joined(const std::vector<std::string>& parts) {
  std::string text;
  for (std::size_t n = 0; n < parts.size(); ++n)
    text += (n == 0 ? "" : n + 1 == parts.size() ? " and " : ", ") + parts[n];
  return text;
}

const std::string& Words::prop(std::size_t c, std::size_t prop) const {
  return run_->symbols(c).props[prop].prop.name;
}

std::string Words::state(std::size_t c, std::size_t prop, std::uint8_t state) const {
  return state == 0 ? "waiting" : run_->symbols(c).props[prop].states[state - 1u].name;
}

const std::string& Words::input(std::size_t c, std::size_t input) const {
  return run_->symbols(c).inputs[input].input.name;
}

const std::string& Words::output(std::size_t c, std::size_t output) const {
  return run_->symbols(c).outputs[output].output.name;
}

const std::string& Words::controller(std::size_t c) const { return run_->room().controllers[c].name; }

std::string Words::clip(std::size_t c, std::size_t clip) const {
  return "`" + run_->symbols(c).clips[clip].name + "`";
}

std::string Words::scans(std::size_t c, std::uint64_t scans) const {
  return format_quantity({static_cast<std::int64_t>(scans) * run_->table(c).scan_ms, Dimension::time});
}

std::string Words::divisions(std::size_t c, std::size_t input, std::int64_t divisions) const {
  const model::Input& device = run_->room().inputs[index(run_->tables().controllers[c].inputs[input])];
  return format_quantity({device.from + divisions * device.division, device.dimension});
}

std::string Words::reading(std::size_t c, std::size_t input) const {
  return divisions(c, input, run_->raw(c, input).value);
}

std::string Words::value(std::size_t c, std::size_t input) const {
  const std::optional<std::uint8_t> value = run_->value(c, input);
  if (!value) return "";
  const Symbols& symbols = run_->symbols(c);
  switch (run_->rows(c).inputs[input].kind) {
    case rows::InputKind::reader:
      if (*value == 0) return "nothing";
      return *value <= symbols.tags.size() ? symbols.tags[*value - 1u].name
                                           : "a tag of no thing that it knows";
    case rows::InputKind::keypad:
      return *value == 0 ? "no key" : std::string(1, static_cast<char>(*value));
    case rows::InputKind::scale:
    case rows::InputKind::gauge:
      return reading(c, input);
    case rows::InputKind::button:
      return *value == 0 ? "up" : "down";
    default: {
      const std::vector<std::string>& words = symbols.inputs[input].values;
      return *value < words.size() ? words[*value] : *value == 0 ? "off" : "on";
    }
  }
}

std::vector<std::string> Words::windows(std::size_t c, std::size_t input) const {
  const std::optional<std::uint8_t> cell = run_->value(c, input);
  std::vector<std::string> names;
  if (!cell) return names;
  const rows::Input& row = run_->rows(c).inputs[input];
  const model::InputId id = run_->tables().controllers[c].inputs[input];
  // The whole cell lies inside a window or outside it; one division of it tells.
  const std::int64_t division = row.edges.empty() ? 0 : *cell == 0 ? row.edges[0] - 1 : row.edges[*cell - 1u];
  for (const model::Prop& prop : run_->room().props)
    for (const model::Window& window : prop.windows) {
      if (window.input != id || window.is_empty) continue;
      const bool from_low = !window.low || division >= *window.low;
      const bool to_high = !window.high || division <= *window.high;
      const bool through_zero = window.low && window.high && *window.low > *window.high;
      if (!(through_zero ? from_low || to_high : from_low && to_high)) continue;
      if (std::find(names.begin(), names.end(), window.name) == names.end()) names.push_back(window.name);
    }
  return names;
}

std::string Words::level(std::size_t c, std::size_t output, std::uint8_t level) const {
  const rows::Level& row = run_->rows(c).levels[level];
  const OutputSymbols& symbols = run_->symbols(c).outputs[output];
  switch (row.kind) {
    case rows::LevelKind::off:
      return symbols.off_word;
    case rows::LevelKind::on:
      return symbols.on_word;
    case rows::LevelKind::at:
      return fmt::format("at {} %", row.value);
    case rows::LevelKind::blinking:
      return "blinking";
    case rows::LevelKind::playing:
      return "playing " + clip(c, row.value);
  }
  return "";
}

std::string Words::standing(std::size_t c, std::size_t output) const {
  if (!run_->rows(c).outputs[output].voice) return level(c, output, run_->level(c, output));
  const lw_sound sound = run_->voice(c, output);
  return sound.sounds ? "playing " + clip(c, sound.clip) : "silent";
}

std::string Words::counter(std::size_t c, std::size_t counter) const {
  // Rows stand in the order of the controller's props, and of the counters in each.
  std::size_t row = counter;
  for (const model::PropId id : run_->tables().controllers[c].props) {
    const auto& counters = run_->room().props[index(id)].counters;
    if (row < counters.size()) return std::to_string(counters[row].low + run_->counter(c, counter));
    row -= counters.size();
  }
  return std::to_string(run_->counter(c, counter));
}

std::string Words::fact(std::size_t c, const rows::RawFact& fact) const {
  const std::vector<rows::RawFact>& facts = run_->rows(c).facts;
  for (std::size_t n = 0; n < facts.size(); ++n)
    if (facts[n].kind == fact.kind && facts[n].a == fact.a && facts[n].b == fact.b && facts[n].c == fact.c &&
        facts[n].keys == fact.keys)
      return run_->symbols(c).facts[n + 1].name;
  return "";
}

const std::string& Words::fact(std::size_t c, std::uint32_t number) const {
  return run_->symbols(c).facts[number].name;
}

std::string Words::literal(std::size_t c, rows::Literal literal) const {
  return (rows::negated(literal) ? "not " : "") + fact(c, rows::fact_of(literal));
}

}  // namespace lw

// Inputs and outputs: where they hang, and what their options say.
//
// Tests: tests/unit/model/hardware_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

using ast::OptionKind;

const char* phrase(TerminalKind kind) {
  switch (kind) {
    case TerminalKind::input:
      return "an input";
    case TerminalKind::output:
      return "an output";
    case TerminalKind::scale:
      return "a terminal for a scale";
    case TerminalKind::reader:
      return "a terminal for a reader";
    case TerminalKind::keypad:
      return "a terminal for a keypad";
    case TerminalKind::gauge:
      return "a terminal for a gauge";
    case TerminalKind::voice:
      return "a voice's terminal";
    case TerminalKind::link:
      return "a link";
  }
  return "";
}

TerminalKind terminal_of(InputKind kind) {
  switch (kind) {
    case InputKind::scale:
      return TerminalKind::scale;
    case InputKind::gauge:
      return TerminalKind::gauge;
    case InputKind::reader:
      return TerminalKind::reader;
    case InputKind::keypad:
      return TerminalKind::keypad;
    case InputKind::contact:
    case InputKind::button:
    case InputKind::operator_button:
    case InputKind::signal:
      return TerminalKind::input;
  }
  return TerminalKind::input;
}

std::string lower_case(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

std::string listed(const TerminalGroup& group) {
  std::string text = quoted(group.names.front());
  if (group.names.size() > 1) text += " to " + quoted(group.names.back());
  return text;
}

/// Where on the board a device of that kind can hang.
std::vector<std::string> terminal_remedies(const Board& board, TerminalKind kind) {
  for (const TerminalGroup& group : board.terminals) {
    if (group.kind == kind && !group.names.empty())
      return {"hang it at one of " + listed(group) + ", which the board has for this."};
  }
  return {std::string("use a board that has ") + phrase(kind) + "."};
}

/// The ordinal of a terminal of that kind on the board; 0, and reported, if it is not there.
std::uint8_t find_terminal(Workspace& work, const Board& board, const std::string& name, TerminalKind kind,
                           Span span, const char* device) {
  const TerminalGroup* fitting = nullptr;
  std::string near;
  for (const TerminalGroup& group : board.terminals) {
    if (group.kind == kind && !group.names.empty()) fitting = &group;
    for (std::size_t i = 0; i < group.names.size(); ++i) {
      if (group.names[i] == name) {
        if (group.kind == kind) return static_cast<std::uint8_t>(i + 1);
        work.report.say(Code::wrong_kind, span,
                        quoted(name) + " of the board " + quoted(board.name) + " is " + phrase(group.kind) +
                            ", and " + device + " hangs at " + phrase(kind),
                        "", terminal_remedies(board, kind), {{group.span, "", true}});
        return 0;
      }
    }
  }
  for (const TerminalGroup& group : board.terminals) {
    for (const std::string& terminal : group.names) {
      if (lower_case(terminal) == lower_case(name)) near = terminal;
    }
  }
  std::vector<std::string> remedies = terminal_remedies(board, kind);
  if (!near.empty()) remedies = {"write " + quoted(near) + ": capitals count."};
  work.report.say(
      Code::terminal_unknown, span, "the board " + quoted(board.name) + " has no terminal " + quoted(name),
      fitting == nullptr ? "It has no terminals of the kind that " + std::string(device) + " needs." : "",
      remedies, {{board.span, "", true}});
  return 0;
}

struct HangsAt {
  ControllerId controller{};
  std::string terminal;
  std::uint8_t ordinal = 0;
};

/// Where each of the `count` devices of a statement hangs. Shorter than that when something was reported.
std::vector<HangsAt> hang(Workspace& work, const ast::Hangs& hangs, const ast::Names& names,
                          std::size_t count, bool whole, TerminalKind kind, const char* device) {
  if (hangs.kind != ast::Hangs::Kind::at) {
    if (hangs.kind != ast::Hangs::Kind::missing) {
      work.report.say(Code::wrong_kind, hangs.span,
                      std::string(device) + " hangs at a terminal of a controller",
                      hangs.kind == ast::Hangs::Kind::over ? "Only a `signal` or a `cue` comes over a link."
                                                           : "Only a `button` is pressed by the operator.",
                      {"write `at` and the terminal, such as `at front.I1`."});
    }
    return {};
  }
  const auto controller = controller_named(work, hangs.on);
  std::vector<std::string> terminals{printed(hangs.first)};
  if (hangs.last) terminals = numbered(work, printed(hangs.first), printed(*hangs.last), hangs.span);
  if (terminals.empty() || terminals.front().empty() || count == 0) return {};
  if (terminals.size() != count) {
    if (!whole) return {};  // its names do not count up, which was said
    const auto say = [](std::size_t n, const char* one, const char* more) {
      return std::to_string(n) + " " + (n == 1 ? one : more);
    };
    work.report.say(Code::bad_numbering, names.span,
                    say(count, "name", "names") + " for " + say(terminals.size(), "terminal", "terminals"),
                    "", {"name as many devices as terminals, in the order in which they are wired."});
    return {};
  }
  if (!controller || !work.boarded[index(*controller)]) return {};
  const Board& board = work.room.boards[index(work.room.controllers[index(*controller)].board)];
  const auto named_board = work.names.find(board.name);
  if (named_board != work.names.end() && named_board->second.silent) return {};
  std::vector<HangsAt> all;
  for (std::size_t i = 0; i < count; ++i) {
    const Span span = i == 0 ? hangs.first.span : i + 1 == count ? hangs.last->span : hangs.span;
    const std::uint8_t ordinal = find_terminal(work, board, terminals[i], kind, span, device);
    if (ordinal == 0) return {};
    const auto [taken, fresh] = work.taken.emplace(std::make_pair(*controller, terminals[i]), span);
    if (!fresh) {
      work.report.say(Code::terminal_taken, span,
                      quoted(terminals[i]) + " of " + quoted(hangs.on.text) + " is taken already", "",
                      {"move one of the two to a free terminal."}, {{taken->second, "", true}});
      return {};
    }
    all.push_back({*controller, terminals[i], ordinal});
  }
  return all;
}

/// Options that say nothing of this kind of device.
void refuse(Workspace& work, const ast::Options& options, std::initializer_list<OptionKind> kinds,
            const std::string& why) {
  for (const OptionKind kind : kinds) {
    if (const ast::Option* given = option(options, kind)) {
      work.report.say(Code::idle_option, given->span, quoted(ast::option_words(kind)) + " says nothing here",
                      why, {"take it away."});
    }
  }
}

void read_scale(Workspace& work, const ast::Input& written, bool whole, Input& scale) {
  const ast::Options& options = written.options;
  scale.dimension = Dimension::mass;
  const auto must = [&](OptionKind kind, const char* reason) -> std::int64_t {
    if (const auto value = option_amount(work, options, kind, Dimension::mass)) return *value;
    if (option(options, kind) == nullptr) {
      const std::string words = ast::option_words(kind);
      report_missing(work, whole, written.names.span,
                     "the scale " + quoted(scale.name) + " does not state its " + quoted(words), reason,
                     "write " + quoted(words) + " and a mass in its braces.");
    }
    return 0;
  };
  scale.to = must(OptionKind::capacity, "It is the load that the scale can weigh.");
  scale.division = must(OptionKind::division,
                        "It is the step in which the scale counts; every window is a range of such steps.");
  scale.empty_below = must(OptionKind::empty, "It says below which load the pan counts as empty.");
  scale.drift = option_amount(work, options, OptionKind::drift, Dimension::mass, Sign::not_negative);
  scale.repeats = option_amount(work, options, OptionKind::repeats, Dimension::mass, Sign::not_negative);
  scale.rests = option_amount(work, options, OptionKind::rests, Dimension::mass, Sign::not_negative);
  if (const ast::Option* accuracy = option(options, OptionKind::accuracy)) {
    if (const auto* word = std::get_if<ast::Name>(&accuracy->value); word != nullptr && *word) {
      constexpr std::string_view kClasses[] = {"I", "II", "III", "IIII"};
      const auto found = std::find(std::begin(kClasses), std::end(kClasses), word->text);
      if (found == std::end(kClasses)) {
        work.report.say(Code::unknown_word, word->span, "a scale is of class `I`, `II`, `III` or `IIII`",
                        "These are the accuracy classes of OIML R 76; most scales of shops and kitchens are "
                        "of class III.",
                        {"write the class that the scale's plate shows, or take `class` away."});
      } else {
        scale.accuracy_class = static_cast<int>(found - std::begin(kClasses)) + 1;
      }
    }
  }
}

void read_gauge(Workspace& work, const ast::Input& written, bool whole, Input& gauge) {
  const ast::Options& options = written.options;
  const ast::Option* from = option(options, OptionKind::from);
  const auto* ends = from == nullptr ? nullptr : std::get_if<ast::ValuePair>(&from->value);
  const auto missing = [&](const char* what, const char* example) {
    report_missing(work, whole, written.names.span,
                   "the gauge " + quoted(gauge.name) + " does not state " + what, "",
                   std::string("write `") + example + "` in its braces.");
  };
  if (from == nullptr) missing("its range", "from 0 deg to 360 deg");
  if (option(options, OptionKind::division) == nullptr) missing("its division", "division 1 deg");
  if (ends == nullptr) return;
  const auto* low = std::get_if<ast::Quantity>(&ends->first);
  if (low == nullptr) return;
  gauge.dimension = low->value.dimension;
  const auto high = amount(work, {}, ends->second, gauge.dimension, Sign::any);
  const auto division = option_amount(work, options, OptionKind::division, gauge.dimension);
  gauge.wraps = option(options, OptionKind::wraps) != nullptr;
  if (!high) return;
  if (*high <= low->value.value) {
    work.report.say(Code::empty_range, from->span, "the gauge's low end is not below its high end", "",
                    {"write the lower value first; a gauge that goes round also has `wraps`."});
    return;
  }
  gauge.from = low->value.value;
  gauge.to = *high;
  if (division) gauge.division = *division;
}

/// A scale or gauge counts in divisions: that there are some, and not more than a table counts.
void check_divisions(Workspace& work, const ast::Input& written, Input& input) {
  constexpr __int128 kMostDivisions = 100'000'000;
  if (input.division == 0 || input.to <= input.from) return;
  const ast::Option* option_division = option(written.options, OptionKind::division);
  const Span span = option_division == nullptr ? written.names.span : option_division->span;
  const __int128 range = static_cast<__int128>(input.to) - input.from;
  if (range < input.division) {
    work.report.say(
        Code::out_of_range, span, "the division is larger than the whole range",
        "The division is the step in which the instrument counts, so it would show nothing but its low end.",
        {"write the step that the instrument shows, such as `division 1 g` on a scale of 3 kg."});
    input.division = 0;
  } else if (range / input.division > kMostDivisions) {
    work.report.say(Code::over_limit, span, "more than 100000000 divisions", "A table counts no further.",
                    {"write a larger division."});
    input.division = 0;
  } else if (input.wraps && range % input.division != 0) {
    work.report.say(Code::out_of_range, span, "the circle is not a whole number of divisions",
                    "A gauge that goes round counts from its low end to its low end.",
                    {"write a division that the range can be shared into."});
    input.division = 0;
  }
}

void read_words(Workspace& work, const ast::Input& written, Input& contact) {
  const auto word = [&](OptionKind kind, std::string& to) {
    const ast::Option* given = option(written.options, kind);
    const auto* name = given == nullptr ? nullptr : std::get_if<ast::Name>(&given->value);
    if (name == nullptr || !*name) return;
    to = name->text;
    if (to == "lost") {
      work.report.say(Code::declared_twice, name->span, "`lost` is what every device can be",
                      "A contact is lost when nothing is heard of its cable.", {"choose another word."});
    }
  };
  word(OptionKind::closed, contact.closed_word);
  word(OptionKind::open, contact.open_word);
  if (contact.closed_word == contact.open_word) {
    work.report.say(Code::declared_twice, written.names.span,
                    "the contact " + quoted(contact.name) + " says " + quoted(contact.open_word) +
                        " when open and when closed",
                    "", {"give each a word of its own: `closed means shut, open means ajar`."});
  }
}

void resolve_input(Workspace& work, const DeviceWork& device) {
  const ast::Input& written = *device.input;
  Input row = work.room.inputs[device.first];
  const bool counted = row.kind == InputKind::scale || row.kind == InputKind::gauge;
  std::vector<HangsAt> places;
  if (row.kind == InputKind::signal) {
    if (written.hangs.kind != ast::Hangs::Kind::over && written.hangs.kind != ast::Hangs::Kind::missing) {
      work.report.say(Code::wrong_kind, written.hangs.span, "a signal comes over a link", "",
                      {"write `over`, the link and the name that it has there; what hangs at a terminal is a "
                       "`contact`."});
    }
  } else if (row.kind != InputKind::operator_button) {
    places = hang(work, written.hangs, written.names, device.count, device.whole, terminal_of(row.kind),
                  kind_phrase(row.kind));
  }
  if (row.kind == InputKind::signal || row.kind == InputKind::operator_button) {
    if (device.count > 1) {
      work.report.say(Code::bad_numbering, written.names.span,
                      std::to_string(device.count) + " names for one " +
                          (row.kind == InputKind::signal ? "signal of a link" : "button of the operator"),
                      "", {"write a statement for each."});
    }
    row.label = written.hangs.text.value();
    row.lost_after_ms = 0;
    if (row.kind == InputKind::signal && written.hangs.kind == ast::Hangs::Kind::over) {
      row.link = link_named(work, written.hangs.on);
    } else {
      refuse(work, written.options, {OptionKind::debounce, OptionKind::lost},
             "An operator's button is pressed for one scan, never bounces and is never lost.");
    }
  } else {
    row.steady_ms = counted ? 400 : 30;
    const OptionKind steady = counted ? OptionKind::settle : OptionKind::debounce;
    if (const auto ms = option_time(work, {}, written.options, steady)) row.steady_ms = *ms;
    if (const auto ms = option_time(work, {}, written.options, OptionKind::lost)) row.lost_after_ms = *ms;
  }
  if (const auto ms = option_time(work, {}, written.options, OptionKind::gap)) row.gap_ms = *ms;
  if (row.kind == InputKind::scale) read_scale(work, written, device.whole, row);
  if (row.kind == InputKind::gauge) read_gauge(work, written, device.whole, row);
  if (counted) check_divisions(work, written, row);
  if (row.kind == InputKind::contact) read_words(work, written, row);
  for (std::size_t i = 0; i < device.count; ++i) {
    Input& input = work.room.inputs[device.first + i];
    row.name = input.name;
    row.span = input.span;
    row.place_span = written.hangs.span;
    if (i < places.size()) {
      row.controller = places[i].controller;
      row.terminal = places[i].terminal;
      row.ordinal = places[i].ordinal;
    }
    input = row;
  }
}

void read_lock(Workspace& work, const ast::Output& written, bool whole, Output& lock) {
  const ast::Option* safe = option(written.options, OptionKind::fail_safe);
  const ast::Option* secure = option(written.options, OptionKind::fail_secure);
  lock.fail_safe = safe != nullptr;
  lock.exit = option(written.options, OptionKind::exit) != nullptr;
  lock.rest.kind = LevelKind::secured;
  if (safe != nullptr && secure != nullptr) {
    work.report.say(Code::twice_given, secure->span, "a lock is `fail-safe` or `fail-secure`, never both",
                    "Without power a fail-safe lock is released and a fail-secure lock is secured.",
                    {"look at the lock's plate and take the other one away."}, {{safe->span, "", true}});
  }
  if (safe == nullptr && secure == nullptr) {
    report_missing(work, whole, written.names.span,
                   "the lock " + quoted(lock.name) + " does not state what it does without power",
                   "From that follows whether its coil must be powered to secure it or to release it.",
                   "write `fail-safe` (released without power) or `fail-secure` in its braces, as the lock's "
                   "plate says.");
  }
  if (lock.exit && whole && option(written.options, OptionKind::rest) == nullptr) {
    work.report.say(
        Code::exit_lock, written.names.span,
        "the exit lock " + quoted(lock.name) + " does not state how it rests",
        "It rests whenever nothing is asked of it: at power-up, before the session, when its "
        "board stops. What a "
        "way out needs is decided by local code, the authority having jurisdiction and licensed "
        "professionals.",
        {"write `rest released` in its braces, and let a prop keep it secured while the session runs."});
  }
}

void resolve_output(Workspace& work, const DeviceWork& device) {
  const ast::Output& written = *device.output;
  Output row = work.room.outputs[device.first];
  const bool voice = row.kind == OutputKind::voice;
  const std::vector<HangsAt> places =
      hang(work, written.hangs, written.names, device.count, device.whole,
           voice ? TerminalKind::voice : TerminalKind::output, kind_phrase(row.kind));
  row.draws_ua =
      option_amount(work, written.options, OptionKind::draws, Dimension::current, Sign::not_negative);
  row.longest_ms = option_time(work, {}, written.options, OptionKind::longest);
  row.run = option_run(work, written.options);
  if (row.kind == OutputKind::lock) read_lock(work, written, device.whole, row);
  if (const ast::Option* rest = option(written.options, OptionKind::rest)) {
    if (const auto* level = std::get_if<ast::Level>(&rest->value)) {
      if (level->kind == ast::Level::Kind::blinking) {
        work.report.say(Code::wrong_level, level->span, "an output cannot rest blinking",
                        "It rests also while its board stands still.", {"write `rest on` or `rest off`."});
      } else if (const auto given = level_of(work, {}, *level, static_cast<OutputId>(device.first))) {
        row.rest = *given;
      }
    }
  }
  for (std::size_t i = 0; i < device.count; ++i) {
    Output& output = work.room.outputs[device.first + i];
    row.name = output.name;
    row.span = output.span;
    row.place_span = written.hangs.span;
    if (i < places.size()) {
      row.controller = places[i].controller;
      row.terminal = places[i].terminal;
      row.ordinal = places[i].ordinal;
    }
    output = row;
  }
}

}  // namespace

void resolve_devices(Workspace& work) {
  for (const DeviceWork& device : work.devices) {
    if (device.count == 0) continue;
    if (device.input != nullptr)
      resolve_input(work, device);
    else
      resolve_output(work, device);
  }
}

}  // namespace lw::model

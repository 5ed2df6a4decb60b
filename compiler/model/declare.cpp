// The names of the room, all of them, before anything is resolved: text may speak of what stands below it.
//
// Tests: tests/unit/model/names_test.cpp.
#include "model/workspace.hpp"

namespace lw::model {
namespace {

constexpr std::size_t kMostNumbered = 250;  // the table's limit of any kind of terminal

struct Numbered {
  std::string_view stem;
  std::string_view digits;
};
Numbered split(std::string_view name) {
  const std::size_t stem = stem_length(name);
  return {name.substr(0, stem), name.substr(stem)};
}

int value_of(std::string_view digits) {
  int value = 0;
  for (const char digit : digits) value = value * 10 + (digit - '0');
  return value;
}

InputKind kind_of(const ast::Input& input) {
  switch (input.kind) {
    case ast::InputKind::scale:
      return InputKind::scale;
    case ast::InputKind::gauge:
      return InputKind::gauge;
    case ast::InputKind::contact:
      return InputKind::contact;
    case ast::InputKind::reader:
      return InputKind::reader;
    case ast::InputKind::keypad:
      return InputKind::keypad;
    case ast::InputKind::signal:
      return InputKind::signal;
    case ast::InputKind::button:
      return input.hangs.kind == ast::Hangs::Kind::by_operator ? InputKind::operator_button
                                                               : InputKind::button;
  }
  return InputKind::contact;
}

OutputKind kind_of(const ast::Output& output) {
  switch (output.kind) {
    case ast::OutputKind::lamp:
      return OutputKind::lamp;
    case ast::OutputKind::relay:
      return OutputKind::relay;
    case ast::OutputKind::motor:
      return OutputKind::motor;
    case ast::OutputKind::lock:
      return OutputKind::lock;
    case ast::OutputKind::voice:
      return OutputKind::voice;
  }
  return OutputKind::lamp;
}

/// A row for what the name names, and the name. Rows and names are in text order.
template <class Row>
void add_row(Workspace& work, std::vector<Row>& rows, NameKind kind, const ast::Name& name, bool silent,
             Row row = {}) {
  if (!within_ids(work, rows.size(), name.span)) return;
  row.name = name.text;
  row.span = name.span;
  rows.push_back(std::move(row));
  if (!name) ++work.nameless;
  declare(work, work.names, nullptr, std::string(name.text),
          {kind, static_cast<std::uint16_t>(rows.size() - 1), name.span, silent, {}});
}

template <class Row>
std::uint16_t add_devices(Workspace& work, std::vector<Row>& rows, NameKind kind, const ast::Names& names,
                          bool& whole, const Row& row) {
  if (!names.last) {
    const std::size_t before = rows.size();
    add_row(work, rows, kind, names.first, !whole, row);
    return static_cast<std::uint16_t>(rows.size() - before);
  }
  std::vector<std::string> all =
      numbered(work, std::string(names.first.text), std::string(names.last->text), names.span);
  if (all.empty()) {  // both ends still count as declared
    whole = false;
    all = {std::string(names.first.text), std::string(names.last->text)};
  }
  bool said = false;  // one finding a statement, however many of its names are taken
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!within_ids(work, rows.size(), names.span)) return static_cast<std::uint16_t>(i);
    Row next = row;
    next.name = all[i];
    next.span = i == 0 ? names.first.span : i + 1 == all.size() ? names.last->span : names.span;
    rows.push_back(std::move(next));
    const auto known = work.names.find(all[i]);
    if (known != work.names.end()) {
      known->second.silent = true;
      if (said) continue;
      said = true;
    }
    declare(work, work.names, nullptr, all[i],
            {kind, static_cast<std::uint16_t>(rows.size() - 1), rows.back().span, !whole, {}});
  }
  return static_cast<std::uint16_t>(all.size());
}

struct Declare {
  Workspace& work;
  bool whole;

  void operator()(const ast::Use&) const {}
  void operator()(const ast::Room&) const {}
  void operator()(const ast::Board& board) const {
    add_row(work, work.room.boards, NameKind::board, board.name, !whole);
  }
  void operator()(const ast::Controller& controller) const {
    add_row(work, work.room.controllers, NameKind::controller, controller.name, false);
  }
  void operator()(const ast::Link& link) const {
    add_row(work, work.room.links, NameKind::link, link.name, !whole);
  }
  void operator()(const ast::Thing& thing) const {
    add_row(work, work.room.things, NameKind::thing, thing.name, !whole);
  }
  void operator()(const ast::Input& input) const {
    Input row;
    row.kind = kind_of(input);
    const auto first = static_cast<std::uint16_t>(work.room.inputs.size());
    bool counts = whole;
    const std::uint16_t count =
        add_devices(work, work.room.inputs, NameKind::input, input.names, counts, row);
    work.devices.push_back({&input, nullptr, first, count, counts});
  }
  void operator()(const ast::Output& output) const {
    Output row;
    row.kind = kind_of(output);
    const auto first = static_cast<std::uint16_t>(work.room.outputs.size());
    bool counts = whole;
    const std::uint16_t count =
        add_devices(work, work.room.outputs, NameKind::output, output.names, counts, row);
    work.devices.push_back({nullptr, &output, first, count, counts});
  }
  void operator()(const ast::Clip& clip) const {
    add_row(work, work.room.clips, NameKind::clip, clip.name, !whole);
  }
  void operator()(const ast::Cue& cue) const {
    add_row(work, work.room.cues, NameKind::cue, cue.name, !whole);
  }
  void operator()(const ast::Let& let) const {
    if (!within_ids(work, work.lets.size(), let.name.span)) return;
    LetWork row;
    row.written = &let;
    row.span = let.name.span;
    work.lets.push_back(std::move(row));
    declare(work, work.names, nullptr, std::string(let.name.text),
            {NameKind::let, static_cast<std::uint16_t>(work.lets.size() - 1), let.name.span, !whole, {}});
  }
  void operator()(const ast::Design& design) const {
    if (!within_ids(work, work.designs.size(), design.name.span)) return;
    work.designs.push_back({&design, whole, false});
    declare(
        work, work.names, nullptr, std::string(design.name.text),
        {NameKind::design, static_cast<std::uint16_t>(work.designs.size() - 1), design.name.span, false, {}});
  }
  void operator()(const ast::Prop& prop) const {
    const std::size_t before = work.room.props.size();
    add_row(work, work.room.props, NameKind::prop, prop.name, false);
    if (work.room.props.size() == before) return;
    PropWork row;
    row.id = static_cast<PropId>(before);
    row.written = &prop;
    row.whole = whole;
    work.props.push_back(std::move(row));
  }
  void operator()(const ast::Chain&) const {}
  void operator()(const ast::Promise&) const {}
  void operator()(const ast::Rehearsal&) const {}
};

}  // namespace

std::size_t stem_length(std::string_view name) {
  std::size_t length = name.size();
  while (length > 0 && name[length - 1] >= '0' && name[length - 1] <= '9') --length;
  return length;
}

bool within_ids(Workspace& work, std::size_t count, Span span) {
  constexpr std::size_t kMostIds = 60'000;
  if (count < kMostIds) return true;
  if (!work.crowded) {
    work.report.say(Code::over_limit, span, "more than 60000 of one kind in one room",
                    "No controller could hold them, and Latchwork counts no further.",
                    {"make rooms of their own of some of it."});
  }
  work.crowded = true;
  return false;
}

std::string printed(const ast::Terminal& terminal) {
  std::string text;
  for (std::size_t i = 0; i < terminal.text.size(); ++i) {
    text += terminal.text[i];
    if (terminal.text[i] == '"') ++i;
  }
  return text;
}

std::vector<std::string> numbered(Workspace& work, const std::string& first, const std::string& last,
                                  Span span) {
  const Numbered low = split(first);
  const Numbered high = split(last);
  const bool padded =
      (low.digits.size() > 1 && low.digits[0] == '0') || (high.digits.size() > 1 && high.digits[0] == '0');
  const char* fault = nullptr;
  std::string mend = "write such as `" + std::string(low.stem) + "1 to " + std::string(low.stem) + "6`.";
  if (low.digits.empty() || high.digits.empty())
    fault = "Both ends need a number at their end.";
  else if (low.stem != high.stem) {
    fault = "Both ends are the same but for the number at their end.";
    mend = "write " + quoted(first + " to " + std::string(low.stem) + std::string(high.digits)) +
           ", or a statement for each.";
  } else if (low.digits.size() > 6 || high.digits.size() > 6)
    fault = "A number of six digits at most tells them apart.";
  else if (padded && low.digits.size() != high.digits.size())
    fault = "Numbers that begin with 0 have equally many digits.";
  else if (value_of(low.digits) > value_of(high.digits)) {
    fault = "The number rises from the first to the last.";
    mend = "write " + quoted(last + " to " + first) + ".";
  } else if (value_of(low.digits) == value_of(high.digits)) {
    fault = "Both ends are the same one.";
    mend = "write " + quoted(first) + " alone.";
  }
  if (fault != nullptr) {
    work.report.say(Code::bad_numbering, span, quoted(first) + " to " + quoted(last) + " does not count up",
                    fault, {mend});
    return {};
  }
  const int from = value_of(low.digits);
  const int to = value_of(high.digits);
  if (static_cast<std::size_t>(to - from) >= kMostNumbered) {
    work.report.say(Code::over_limit, span,
                    quoted(first) + " to " + quoted(last) + " are " + std::to_string(to - from + 1) +
                        ", and 250 is the most",
                    "No controller has more terminals of one kind.",
                    {"share them among several controllers, a statement for each."});
    return {};
  }
  std::vector<std::string> all;
  for (int number = from; number <= to; ++number) {
    std::string digits = std::to_string(number);
    if (padded) digits.insert(0, low.digits.size() - digits.size(), '0');
    all.push_back(std::string(low.stem) + digits);
  }
  return all;
}

namespace {

/// A name that may have been declared by what could not be read, as one of several numbered ones perhaps.
void add_stray(Workspace& work, std::string_view name) {
  work.stray.emplace(name);
  const std::size_t stem = stem_length(name);
  if (stem > 0 && stem < name.size()) work.stray_stems.emplace(name.substr(0, stem));
}

void add_broken_devices(Workspace& work, const ast::Statement& statement) {
  if (statement.whole) return;
  const ast::Names* names = nullptr;
  if (const auto* input = std::get_if<ast::Input>(&statement.form)) names = &input->names;
  if (const auto* output = std::get_if<ast::Output>(&statement.form)) names = &output->names;
  if (names == nullptr) return;
  add_stray(work, names->first.text);
  if (names->last) add_stray(work, names->last->text);
}

}  // namespace

void declare_room(Workspace& work) {
  for (const ast::File& file : work.program.files) {
    for (const ast::Name& name : file.stray) add_stray(work, name.text);
    for (const ast::Statement& statement : file.statements) {
      add_broken_devices(work, statement);
      std::visit(Declare{work, statement.whole}, statement.form);
    }
  }
}

}  // namespace lw::model

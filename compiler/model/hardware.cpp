// What the room is built of but for its devices: boards, controllers, links, things, clips and cues.
//
// Tests: tests/unit/model/hardware_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

using ast::OptionKind;

struct TerminalOption {
  OptionKind option;
  TerminalKind kind;
};
constexpr TerminalOption kTerminals[] = {
    {OptionKind::inputs, TerminalKind::input},   {OptionKind::outputs, TerminalKind::output},
    {OptionKind::scales, TerminalKind::scale},   {OptionKind::readers, TerminalKind::reader},
    {OptionKind::keypads, TerminalKind::keypad}, {OptionKind::gauges, TerminalKind::gauge},
    {OptionKind::voices, TerminalKind::voice},   {OptionKind::links, TerminalKind::link},
};

void resolve_board(Workspace& work, const ast::Board& written, Board& board) {
  std::map<std::string, Span> printed_names;
  for (const TerminalOption& row : kTerminals) {
    const ast::Option* given = option(written.options, row.option);
    if (given == nullptr) continue;
    const auto* terminals = std::get_if<ast::Terminals>(&given->value);
    if (terminals == nullptr) continue;
    TerminalGroup group;
    group.kind = row.kind;
    group.span = terminals->span;
    group.names = terminals->last
                      ? numbered(work, printed(terminals->first), printed(*terminals->last), terminals->span)
                      : std::vector<std::string>{printed(terminals->first)};
    for (const std::string& name : group.names) {
      const auto [place, fresh] = printed_names.emplace(name, group.span);
      if (fresh) continue;
      work.report.say(Code::terminal_taken, group.span, quoted(name) + " is printed on the board twice",
                      "Each terminal has a name of its own, so that a device hangs at one place.",
                      {"write each name once, as it is printed."}, {{place->second, "", true}});
      break;
    }
    if (terminals->up_to) {
      if (row.kind == TerminalKind::output) {
        group.limit_ua = amount(work, *terminals->up_to, Dimension::current, Sign::positive);
      } else {
        work.report.say(Code::wrong_kind, terminals->up_to->span, "only outputs have a greatest current", "",
                        {"take away `up to`."});
      }
    }
    board.terminals.push_back(std::move(group));
  }
  board.table_bytes = option_amount(work, written.options, OptionKind::table, Dimension::data);
  board.memory_bytes = option_amount(work, written.options, OptionKind::memory, Dimension::data);
  board.total_ua = option_amount(work, written.options, OptionKind::total, Dimension::current);
  if (const auto scan = option_time(work, {}, written.options, OptionKind::scan)) {
    constexpr std::int64_t kLongestScan = 1000;
    if (*scan > kLongestScan) {
      work.report.say(Code::out_of_range, option(written.options, OptionKind::scan)->span,
                      "a scan lasts 1 s at most",
                      "Nothing happens between scans: players would wait for an answer.",
                      {"write `scan 10 ms`, which suits most rooms."});
    } else {
      board.scan_ms = *scan;
    }
  }
  if (const ast::Option* sounds = option(written.options, OptionKind::sounds)) {
    if (const auto* kinds = std::get_if<std::vector<ast::Text>>(&sounds->value)) {
      for (const ast::Text& kind : *kinds) board.sounds.push_back(kind.value());
    }
  }
}

void resolve_controller(Workspace& work, const ast::Controller& written, Controller& controller,
                        bool& boarded) {
  const Wanted is_board = [](const Symbol& s) { return s.kind == NameKind::board; };
  if (const Symbol* board = named(work, {}, written.board, "a board", is_board)) {
    controller.board = static_cast<BoardId>(board->index);
    boarded = true;
  }
  if (const ast::Option* supply = option(written.options, OptionKind::supply)) {
    if (const auto* pair = std::get_if<ast::ValuePair>(&supply->value)) {
      controller.supply_uv = amount(work, {}, pair->first, Dimension::voltage, Sign::positive);
      controller.supply_ua = amount(work, {}, pair->second, Dimension::current, Sign::positive);
    }
  }
  controller.run = option_run(work, written.options);
}

std::size_t link_terminals(const Board& board) {
  for (const TerminalGroup& group : board.terminals) {
    if (group.kind == TerminalKind::link) return group.names.size();
  }
  return 0;
}

void resolve_link(Workspace& work, const ast::Link& written, bool whole, Link& link,
                  std::vector<std::size_t>& joined) {
  for (const ast::Name& name : written.joins) {
    const auto controller = controller_named(work, name);
    if (!controller) continue;
    if (std::find(link.joins.begin(), link.joins.end(), *controller) != link.joins.end()) {
      work.report.say(Code::twice_given, name.span, quoted(name.text) + " is joined twice by one link", "",
                      {"take one away."});
      continue;
    }
    link.joins.push_back(*controller);
    const std::size_t at = index(*controller);
    if (!work.boarded[at]) continue;
    const Board& board = work.room.boards[index(work.room.controllers[at].board)];
    const std::size_t has = link_terminals(board);
    if (++joined[at] == has + 1) {
      work.report.say(Code::over_limit, name.span,
                      has == 0 ? "the board of " + quoted(name.text) + " has no link"
                               : quoted(name.text) + " is joined by " + std::to_string(has + 1) +
                                     " links, and its board has " + std::to_string(has),
                      "", {"use a board with more: `links L1` in its statement says that it has one."},
                      {{board.span, "", true}});
    }
  }
  if (const auto delay = option_time(work, {}, written.options, OptionKind::delay)) link.delay_ms = *delay;
  if (option(written.options, OptionKind::delay) == nullptr) {
    report_missing(work, whole, written.name.span,
                   "the link " + quoted(link.name) + " does not say how late messages may be",
                   "What a prop sees of another controller is as old as that.",
                   "write `delay up to 200 ms` in its braces.");
  }
  if (const auto lost = option_time(work, {}, written.options, OptionKind::lost)) link.lost_after_ms = *lost;
}

/// The bytes of "04 A1 5C 22"; empty if it is not written so.
std::string tag_bytes(const std::string& text) {
  std::string bytes;
  int high = -1;
  for (const char c : text) {
    int digit = 0;
    if (c >= '0' && c <= '9')
      digit = c - '0';
    else if (c >= 'A' && c <= 'F')
      digit = c - 'A' + 10;
    else if (c >= 'a' && c <= 'f')
      digit = c - 'a' + 10;
    else if ((c == ' ' || c == ':') && high < 0)
      continue;
    else
      return "";
    if (high < 0) {
      high = digit;
    } else {
      bytes += static_cast<char>(high * 16 + digit);
      high = -1;
    }
  }
  constexpr std::size_t kMostTagBytes = 10;  // the longest number that a tag of ISO/IEC 14443 has
  return high >= 0 || bytes.size() > kMostTagBytes ? "" : bytes;
}

void resolve_thing(Workspace& work, const ast::Thing& written, bool whole, Thing& thing,
                   std::map<std::string, ThingId>& tags, ThingId id) {
  if (written.mass) thing.mass_pg = amount(work, *written.mass, Dimension::mass, Sign::positive);
  if (written.tolerance) {
    if (const auto tolerance = amount(work, *written.tolerance, Dimension::mass, Sign::not_negative)) {
      thing.tolerance_pg = *tolerance;
    }
  }
  if (const ast::Option* tag = option(written.options, OptionKind::tag)) {
    if (const auto* text = std::get_if<ast::Text>(&tag->value)) thing.tag = tag_of(work, *text);
    if (thing.tag) {
      const auto [other, fresh] = tags.emplace(*thing.tag, id);
      if (!fresh) {
        work.report.say(Code::bad_tag, tag->span, "two things have one tag",
                        "A reader could not tell " + quoted(thing.name) + " from " +
                            quoted(work.room.things[index(other->second)].name) + ".",
                        {"write the number that each tag has."},
                        {{work.room.things[index(other->second)].span, "", true}});
      }
    }
  } else if (!written.mass) {
    report_missing(work, whole, written.name.span,
                   "the thing " + quoted(thing.name) + " has neither a mass nor a tag",
                   "A thing is known by what it weighs or by the tag that a reader reads.",
                   "write its mass after its name, or `tag \"04 A1 5C 22\"` in its braces.");
  }
  if (const ast::Option* count = option(written.options, OptionKind::count)) {
    if (const auto* number = std::get_if<ast::Number>(&count->value)) {
      constexpr std::int64_t kMostThings = 1000;
      if (number->value < 1 || number->value > kMostThings) {
        work.report.say(Code::out_of_range, number->span, "a room has 1 to 1000 of a thing",
                        "A thing is something that players can take up and put down.",
                        {"write how many there are, or leave `count` out if there is one."});
      } else {
        thing.count = number->value;
      }
    }
  }
  if (const ast::Option* home = option(written.options, OptionKind::home)) {
    if (const auto* text = std::get_if<ast::Text>(&home->value)) thing.home = text->value();
  }
  if (const ast::Option* spread = option(written.options, OptionKind::spread)) {
    if (const auto* word = std::get_if<ast::Name>(&spread->value); word != nullptr && *word) {
      thing.normal_spread = word->text == "normal";
      if (!thing.normal_spread && word->text != "uniform") {
        work.report.say(Code::unknown_word, word->span, "a tolerance is spread `uniform` or `normal`", "",
                        {"write `uniform`, which is taken unless something is said: any mass within the "
                         "tolerance is as likely."});
      }
    }
  }
}

void resolve_clip(Workspace& work, const ast::Clip& written, bool whole, Clip& clip) {
  clip.path = written.path.value();
  clip.path_span = written.path.span;
  if (whole && (clip.path.empty() || clip.path[0] == '/')) {
    work.report.say(Code::bad_path, written.path.span, "a path is relative to the file that it stands in",
                    "A room builds on every machine, wherever its folder lies.",
                    {"write it without what leads there."});
  }
  const std::string& from = work.sources.name(clip.path_span.file);
  const std::size_t slash = from.rfind('/');
  clip.file = slash == std::string::npos ? clip.path : from.substr(0, slash + 1) + clip.path;
}

struct Rows {
  std::size_t boards = 0, controllers = 0, links = 0, things = 0, clips = 0, cues = 0;
};

/// The row of the next statement of a kind: rows stand in text order.
template <class Row>
Row* next(std::vector<Row>& rows, std::size_t& at) {
  return at < rows.size() ? &rows[at++] : nullptr;
}

}  // namespace

void report_missing(Workspace& work, bool whole, Span span, const std::string& message,
                    const std::string& reason, const std::string& remedy) {
  if (whole) work.report.say(Code::missing_option, span, message, reason, {remedy});
}

std::optional<std::string> tag_of(Workspace& work, const ast::Text& text) {
  std::string bytes = tag_bytes(text.value());
  if (!bytes.empty()) return bytes;
  work.report.say(Code::bad_tag, text.span, "this is not the number of a tag",
                  "A tag's number is 1 to 10 bytes, each two digits of 0 to 9 and A to F.",
                  {"write it as a reader shows it: `\"04 A1 5C 22\"`."});
  return std::nullopt;
}

void resolve_hardware(Workspace& work) {
  const auto each = [&work](auto&& visit) {
    for (const ast::File& file : work.program.files) {
      for (const ast::Statement& statement : file.statements) visit(statement);
    }
  };
  Room& room = work.room;
  Rows at;
  each([&](const ast::Statement& statement) {
    if (const auto* written = std::get_if<ast::Board>(&statement.form)) {
      if (Board* board = next(room.boards, at.boards)) resolve_board(work, *written, *board);
    }
  });
  work.boarded.assign(room.controllers.size(), false);
  each([&](const ast::Statement& statement) {
    if (const auto* written = std::get_if<ast::Controller>(&statement.form)) {
      const std::size_t row = at.controllers;
      Controller* controller = next(room.controllers, at.controllers);
      bool boarded = false;
      if (controller != nullptr) resolve_controller(work, *written, *controller, boarded);
      if (boarded) work.boarded[row] = true;
    }
  });
  std::vector<std::size_t> joined(room.controllers.size());
  std::map<std::string, ThingId> tags;
  each([&](const ast::Statement& statement) {
    if (const auto* link = std::get_if<ast::Link>(&statement.form)) {
      if (Link* row = next(room.links, at.links)) resolve_link(work, *link, statement.whole, *row, joined);
    } else if (const auto* thing = std::get_if<ast::Thing>(&statement.form)) {
      const auto id = static_cast<ThingId>(at.things);
      if (Thing* row = next(room.things, at.things))
        resolve_thing(work, *thing, statement.whole, *row, tags, id);
    } else if (const auto* clip = std::get_if<ast::Clip>(&statement.form)) {
      if (Clip* row = next(room.clips, at.clips)) resolve_clip(work, *clip, statement.whole, *row);
    } else if (const auto* cue = std::get_if<ast::Cue>(&statement.form)) {
      if (Cue* row = next(room.cues, at.cues)) {
        if (const auto over = link_named(work, cue->link)) {
          row->link = *over;
        } else if (const auto name = work.names.find(cue->name.text); name != work.names.end()) {
          name->second.silent = true;  // it goes nowhere: what it could reach is not asked
        }
        row->message = cue->text.value();
      }
    }
  });
}

}  // namespace lw::model

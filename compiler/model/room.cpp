// The room statement, the chain, and what `accept` silences.
//
// Arrows into one prop all count, as all that a comma joins does (decision 7): a prop wakes when every line
// of the chain that points at it holds. Whoever means one of them writes `(a solved or b solved) -> c`.
// Tests: tests/unit/model/room_test.cpp.
#include <algorithm>

#include "model/workspace.hpp"

namespace lw::model {
namespace {

struct Found {
  const ast::Room* room = nullptr;
  bool whole = true;
};

Found find_room(Workspace& work, bool say) {
  Found found;
  for (const ast::File& file : work.program.files) {
    for (const ast::Statement& statement : file.statements) {
      const auto* room = std::get_if<ast::Room>(&statement.form);
      if (room == nullptr) continue;
      if (found.room == nullptr) {
        found = {room, statement.whole};
      } else if (say) {
        work.report.say(Code::declared_twice, room->title.span, "a second `room`",
                        "A room is one game with one session.", {"take one of the two away."},
                        {{found.room->title.span, "", true}});
      }
    }
  }
  return found;
}

std::optional<Reader> reader_of(const Workspace& work, PropId prop) {
  if (!work.props[index(prop)].placed) return std::nullopt;
  return Reader{work.room.props[index(prop)].controller, work.room.props[index(prop)].span};
}

/// What one prop waits for, line after line of the chain.
struct Wait {
  std::vector<Reading> readings;
  bool whole = true;
};

void read_way(Workspace& work, const ast::Chain::Way& way, std::map<PropId, Wait>& waits) {
  std::vector<std::optional<PropId>> props;
  for (const ast::Name& name : way.props) {
    props.push_back(prop_named(work, name));
    if (props.back()) report_scenery(work, *props.back(), name.span);
  }
  std::optional<Reader> reader;
  if (!props.empty() && props.front()) reader = reader_of(work, *props.front());
  Where where;
  where.chain = true;
  auto reading = read_for(work, where, way.cond, reader, {true, ""});
  for (std::size_t i = 0; i < props.size(); ++i) {
    if (!props[i]) continue;
    Wait& wait = waits[*props[i]];
    if (i == 0) {
      if (reading)
        wait.readings.push_back(std::move(*reading));
      else
        wait.whole = false;
    } else if (props[i - 1]) {
      Reading solved;
      solved.cond.kind = CondKind::fact;
      solved.cond.span = way.props[i - 1].span;
      solved.cond.fact.kind = FactKind::prop_solved;
      solved.cond.fact.prop = *props[i - 1];
      wait.readings.push_back(std::move(solved));
    }
  }
}

void join_waits(Workspace& work, PropId prop, Wait& wait) {
  if (wait.readings.empty() || !wait.whole) return;
  const Reading* edge = nullptr;
  for (const Reading& reading : wait.readings) {
    if (!reading.edge) continue;
    if (edge != nullptr) {
      work.report.say(Code::edge_misuse, reading.edge->use,
                      quoted(work.room.props[index(prop)].name) + " waits for two moments in one scan",
                      "All lines of the chain that point at a prop must hold at once, and each of these is "
                      "over in one scan.",
                      {"let a prop in between move to its goal at the first."},
                      {{edge->edge->use, "", true}});
      return;
    }
    edge = &reading;
  }
  Cond& wakes = work.room.props[index(prop)].wakes.emplace();
  if (wait.readings.size() == 1) {
    wakes = std::move(wait.readings.front().cond);
    return;
  }
  wakes.kind = CondKind::all;
  wakes.span = wait.readings.front().cond.span;
  for (Reading& reading : wait.readings) wakes.parts.push_back(std::move(reading.cond));
}

}  // namespace

void resolve_session(Workspace& work) {
  const Found found = find_room(work, true);
  if (found.room == nullptr) {
    const ast::File& root = work.program.files.back();
    if (!root.whole) return;
    work.report.say(Code::missing_statement, root.language.span, "there is no `room` statement",
                    "It says how long a session lasts, how it starts and what finishes it.",
                    {"write `room \"NAME\" { session 60 min, finish PROP }`."});
    return;
  }
  work.room.title = found.room->title.value();
  work.room.span = found.room->title.span;
  work.session_stated = !found.whole || option(found.room->options, ast::OptionKind::session) != nullptr;
  if (const auto length = option_time(work, {}, found.room->options, ast::OptionKind::session))
    work.room.session_ms = *length;
}

void resolve_start_and_finish(Workspace& work) {
  const Found found = find_room(work, false);
  if (found.room == nullptr) return;
  const ast::Options& options = found.room->options;
  Room& room = work.room;
  if (const ast::Option* given = option(options, ast::OptionKind::starts)) {
    if (const auto* starts = std::get_if<ast::Starts>(&given->value)) {
      if (starts->when) {
        std::optional<Reader> reader;
        if (!room.controllers.empty())
          reader = Reader{static_cast<ControllerId>(0), room.controllers.front().span};
        room.starts = SessionStart::when;
        auto reading = read_held(work, {}, *starts->when, reader, {true, ""}, room.start_hold_ms);
        if (reading) room.start_condition = std::move(reading->cond);
      } else {
        room.starts = SessionStart::by_operator;
        if (starts->label) room.start_label = starts->label->value();
      }
    }
  }
  const ast::Option* finish = option(options, ast::OptionKind::finish);
  if (finish == nullptr) {
    report_missing(work, found.whole, found.room->title.span, "the room does not say what finishes it",
                   "The session ends, won, when all props of `finish` are solved.",
                   "write `finish PROP` in its braces.");
    return;
  }
  const auto* names = std::get_if<std::vector<ast::Name>>(&finish->value);
  if (names == nullptr) return;
  for (const ast::Name& name : *names) {
    const auto prop = prop_named(work, name);
    if (!prop) continue;
    report_scenery(work, *prop, name.span);
    if (std::find(room.finish.begin(), room.finish.end(), *prop) != room.finish.end()) {
      work.report.say(Code::twice_given, name.span, quoted(name.text) + " is named twice", "",
                      {"take one away."});
    } else {
      room.finish.push_back(*prop);
    }
  }
}

void resolve_chains(Workspace& work) {
  std::map<PropId, Wait> waits;
  for (const ast::File& file : work.program.files) {
    for (const ast::Statement& statement : file.statements) {
      const auto* chain = std::get_if<ast::Chain>(&statement.form);
      if (chain == nullptr) continue;
      for (const ast::Chain::Way& way : chain->ways) read_way(work, way, waits);
    }
  }
  for (auto& [prop, wait] : waits) join_waits(work, prop, wait);
}

void take_accepts(Workspace& work, const std::vector<ast::Accept>& accepts, Span scope, bool checked) {
  for (const ast::Accept& written : accepts) {
    if (!written.code) continue;
    const auto code = code_named(written.code.text);
    if (!code) {
      std::vector<std::string> known;
      for (std::size_t i = 0; i < code_count(); ++i) known.emplace_back(code_name(static_cast<Code>(i)));
      const std::string near = nearest_name(written.code.text, known);
      work.report.say(Code::unknown_name, written.code.span,
                      "no finding is called " + quoted(written.code.text),
                      "A finding's code stands in brackets at the end of its first line.",
                      {near.empty() ? "write the code of the finding that you have looked at."
                                    : "write " + quoted(near) + "."});
      continue;
    }
    const bool known = std::any_of(work.room.accepts.begin(), work.room.accepts.end(),
                                   [&](const Accept& a) { return a.span == written.span; });
    if (!known) work.room.accepts.push_back({written.span, *code, written.reason.value(), scope, checked});
  }
}

}  // namespace lw::model

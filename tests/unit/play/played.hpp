// A room for a test: text to tables, or the findings that stopped it.
#pragma once

#include <doctest/doctest.h>

#include <memory>
#include <string>

#include "model/resolve.hpp"
#include "play/rehearse.hpp"
#include "play/room_run.hpp"
#include "syntax/parse.hpp"
#include "table/lower.hpp"

namespace lw::test {

struct Played {
  SourceSet sources;
  model::Room room;
  RoomTables tables;

  std::size_t prop(const std::string& name) const { return named(room.props, name); }
  std::size_t output(const std::string& name) const { return named(room.outputs, name); }
  std::size_t input(const std::string& name) const { return named(room.inputs, name); }

  template <class Named>
  static std::size_t named(const std::vector<Named>& all, const std::string& name) {
    for (std::size_t n = 0; n < all.size(); ++n)
      if (all[n].name == name) return n;
    FAIL("the room has no " << name);
    return 0;
  }
};

/// The board that all these rooms are on, in front of the text. Every clip lasts 1.5 s.
inline std::unique_ptr<Played> played(const std::string& text, bool with_board = true) {
  static const std::string kBoard = R"(language 1
board box {
  inputs I1 to I8, outputs K1 to K8, scales S1 to S3, readers R1 to R2, keypads P1, gauges G1, voices A1, links L1 to L2
  scan 10 ms
}
)";
  auto made = std::make_unique<Played>();
  Findings findings;
  const FileId file = made->sources.add("room.latch", (with_board ? kBoard : "") + text);
  ast::Program program;
  program.files.push_back(parse(made->sources, file, findings));
  std::optional<model::Room> room = resolve(made->sources, program, findings);
  std::optional<RoomTables> tables;
  if (room) {
    made->room = std::move(*room);
    tables = lower(
        made->sources, made->room, [](model::ClipId) { return std::int64_t{1500}; }, findings);
  }
  if (!tables) {
    for (const Finding& finding : findings)
      MESSAGE(made->sources.position(finding.span).line << ": " << finding.message << " " << finding.reason);
    FAIL("the room of this test does not compile");
  }
  made->tables = std::move(*tables);
  return made;
}

/// How a rehearsal's failure reads: its place, its fact, its reason, and its timeline a line each.
inline std::string told(const Played& room, const std::optional<Finding>& failure) {
  if (!failure) return "passed";
  std::string text = "`" + std::string(room.sources.text(failure->span)) + "`\n" + failure->message + "\n" +
                     failure->reason + "\n";
  for (const Event& event : failure->playthrough)
    text += event.time + " | " + event.happens + " | " + event.answers + "\n";
  return text;
}
inline std::string told(const std::vector<Event>& events) {
  std::string text;
  for (const Event& event : events) {
    text += event.time + " | " + event.happens + " | " + event.answers;
    if (event.line != 0) text += " | " + std::to_string(event.line);
    text += "\n";
  }
  return text;
}

/// The rehearsal alone, in a room that is written around it.
inline std::string rehearsed(const std::string& room, const std::string& script) {
  const auto made = played(room + "rehearsal \"r\" {\n" + script + "\n}\n");
  return told(*made, rehearse(made->sources, made->room, made->tables, 0).failure);
}

}  // namespace lw::test

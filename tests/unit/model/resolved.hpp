// Rooms from text for the tests of resolving, and findings as one line each.
#pragma once

#include <doctest/doctest.h>

#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "model/resolve.hpp"
#include "syntax/parse.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw::model::test {

/// A board and devices of every kind at two controllers, with a prop to finish: what most tests speak of.
extern const char* const kBench;

struct Resolved {
  SourceSet sources;
  ast::Program program;
  Findings findings;
  std::optional<Room> room;

  /// "2:14 wrong_kind: `blue` is a lamp, and here belongs a scale"; places that do not lie in room.latch
  /// begin with the file.
  std::vector<std::string> lines() const;
  const Prop& prop(const std::string& name) const;
  const Window& window(const std::string& prop, const std::string& name) const;
};

std::string joined(const std::vector<std::string>& lines);

/// The text is a file room.latch whose first line is `language 1`, so that it begins at 2:1; `bench` is used
/// before it.
Resolved resolve_text(const std::string& text, const char* bench = kBench);

/// The text gives these findings and no room; the twin gives neither finding nor note, and a room.
void check_pair(const std::string& text, const std::vector<std::string>& expected, const std::string& twin,
                const char* bench = kBench);

/// A prop on `front` whose only state holds these lines.
std::string in_state(const std::string& lines);
/// A prop on `front` with these parts and a state that is start and goal.
std::string in_prop(const std::string& parts);

}  // namespace lw::model::test

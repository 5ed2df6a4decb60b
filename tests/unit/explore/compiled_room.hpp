// A room compiled from its text alone.
#pragma once

#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <string>

#include "check/compile.hpp"

namespace lw {

/// The room with its tables; a text that has none fails the test, with its findings.
inline std::unique_ptr<CompiledRoom> compiled(const std::string& text) {
  char folder[] = "/tmp/lw_explore_XXXXXX";
  REQUIRE(mkdtemp(folder));
  const std::string path = std::string(folder) + "/room.latch";
  std::ofstream(path) << text;
  ReadError error;
  auto room = compile(path, "", error);
  std::filesystem::remove_all(folder);
  REQUIRE(room);
  std::string said;
  for (const Finding& finding : room->findings) said += finding.message + "\n";
  INFO(said);
  REQUIRE(room->tables);
  return room;
}

}  // namespace lw

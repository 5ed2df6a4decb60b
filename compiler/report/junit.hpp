// Rehearsals for build servers: JUnit XML, one suite a room, one test case a rehearsal.
//
// There is no standard of it; what is written is valid for the schema in tests/schemas and has what stricter
// readers ask for. Times are those of the room, the seconds that were played, and the timestamp is the
// clock's zero: so the same room gives the same bytes, and a rehearsal that became longer shows, which the
// machine's own time would hide. XML cannot hold control codes at all; they are written out as the text
// output does (text/utf8.hpp). Tests: tests/junit.py.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace lw::report {

struct JunitCase {
  std::string name;
  std::int64_t length_ms = 0;
  struct Failure {
    std::string message;  // the fact
    std::string text;     // all that is said of it, the timeline included; line ends stay
  };
  std::optional<Failure> failure;  // an expectation was not met
  std::optional<Failure> error;    // it could not be played
};

struct JunitSuite {
  std::string room;  // its title, or its file's name
  std::string file;
  std::string tool_version;
  std::vector<JunitCase> cases;
};

/// The whole document, its last line ended.
std::string to_junit(const JunitSuite& suite);

}  // namespace lw::report

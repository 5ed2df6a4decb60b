// Whole rooms read with nothing to say of them: the eight designs, the Assay Office, and every sample of the
// project.
#include <doctest/doctest.h>

#include "support.hpp"

using syntax_test::Parsed;

TEST_CASE("every room of the tests reads, with all that it uses") {
  for (const std::string& room : syntax_test::room_names()) {
    CAPTURE(room);
    lw::SourceSet sources;
    lw::Findings findings;
    lw::ReadError error;
    const auto program =
        lw::load_program(sources, syntax_test::rooms_folder() + room + ".latch", error, findings);
    REQUIRE(program);
    for (const lw::Finding& finding : findings) FAIL_CHECK(syntax_test::told(finding, sources));
    CHECK(program->complete);
    for (const lw::ast::File& file : program->files) CHECK(file.whole);
  }
}

TEST_CASE("every sample reads") {
  const std::vector<std::string> paths = syntax_test::sample_paths();
  CHECK(paths.size() >= 3);
  for (const std::string& path : paths) {
    CAPTURE(path);
    CHECK(syntax_test::told(Parsed(syntax_test::read_file(path))) == "");
  }
}

TEST_CASE("layout never matters: a room in one line, and a token a line, give the same statements") {
  for (const std::string& room : syntax_test::room_names()) {
    CAPTURE(room);
    const std::string text = syntax_test::read_file(syntax_test::rooms_folder() + room + ".latch");
    std::string line;
    std::string lines;
    bool comment = false;
    bool quoted = false;
    for (const char c : text) {
      if (c == '"' && !comment) quoted = !quoted;
      if (c == '#' && !quoted) comment = true;
      if (c == '\n') comment = false;
      if (comment) continue;
      line += c == '\n' ? ' ' : c;
      lines += c == ' ' && !quoted ? "\r\n\t" : std::string(1, c);
    }
    const Parsed as_written(text);
    for (const std::string& other : {line, lines}) {
      const Parsed parsed(other);
      CHECK(syntax_test::told(parsed) == "");
      CHECK(parsed.file.statements.size() == as_written.file.statements.size());
    }
  }
}

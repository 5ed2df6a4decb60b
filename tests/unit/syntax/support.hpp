// What the tests of syntax/ share: a text parsed or scanned, and findings as one comparable line each.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <initializer_list>
#include <sstream>
#include <string>
#include <vector>

#include "../sanitized.hpp"
#include "syntax/mistakes.hpp"
#include "syntax/parse.hpp"
#include "syntax/scan.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace syntax_test {

using lw::test::kOneIn;

struct Parsed {
  lw::SourceSet sources;
  lw::FileId id{};
  lw::Findings findings;
  lw::ast::File file;

  explicit Parsed(std::string text) {
    id = sources.add("room.latch", std::move(text));
    file = lw::parse(sources, id, findings);
    findings = lw::arranged(std::move(findings));
  }
};

struct Scanned {
  lw::SourceSet sources;
  lw::Findings findings;
  lw::syntax::Tokens tokens;

  explicit Scanned(std::string text) {
    const lw::FileId id = sources.add("room.latch", std::move(text));
    lw::syntax::Mistakes mistakes(findings);
    tokens = lw::syntax::scan(sources, id, mistakes);
  }
};

/// "3:7 [syntax] `what is underlined`: the fact | note | reason | remedy | remedy", what is empty left out.
inline std::string told(const lw::Finding& finding, const lw::SourceSet& sources) {
  const lw::Position at = sources.position(finding.span);
  std::string text = std::to_string(at.line) + ":" + std::to_string(at.column) + " [" +
                     lw::code_name(finding.code) + "] `" + std::string(sources.text(finding.span)) +
                     "`: " + finding.message;
  if (!finding.note.empty()) text += " | " + finding.note;
  if (!finding.reason.empty()) text += " | " + finding.reason;
  for (const std::string& remedy : finding.remedies) text += " | " + remedy;
  return text;
}

/// Every finding of the text, a line each.
inline std::string told(const Parsed& parsed) {
  std::string text;
  for (const lw::Finding& finding : parsed.findings) text += told(finding, parsed.sources) + "\n";
  return text;
}

/// What is found in a room of these lines, which stand from line 2 on.
inline std::string found(const std::string& lines) { return told(Parsed("language 1\n" + lines + "\n")); }
/// The same in a prop, from line 3 on, and in a state of a prop, from line 4 on.
inline std::string found_in_prop(const std::string& lines) {
  return found("prop assay on front {\n" + lines + "\n}");
}
inline std::string found_in_state(const std::string& lines) {
  return found_in_prop("state weighing start {\n" + lines + "\n}");
}

enum class In { file, room, prop, state, rehearsal };

struct Case {
  In in;
  const char* text;
  const char* told;
};

/// Each text with what is said of it, whole.
inline void check(std::initializer_list<Case> cases) {
  for (const Case& one : cases) {
    const std::string text = one.text;
    const std::string expected = one.told;
    CAPTURE(text);
    std::string said = one.in == In::file    ? told(Parsed(text))
                       : one.in == In::room  ? found(text)
                       : one.in == In::prop  ? found_in_prop(text)
                       : one.in == In::state ? found_in_state(text)
                                             : found("rehearsal \"r\" {\n" + text + "\n}");
    if (!said.empty()) said.pop_back();
    CHECK(said == expected);
  }
}

inline std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE_MESSAGE(in.good(), path);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}
inline std::string rooms_folder() { return std::string(LATCHWORK_SOURCE_DIR) + "/tests/unit/syntax/rooms/"; }
inline const std::vector<std::string>& room_names() {
  static const std::vector<std::string> names = {"crate",      "bench8",  "assay_office", "apothecary",
                                                 "levers",     "knock",   "objects",      "dial",
                                                 "last_train", "buttons", "antidote"};
  return names;
}

/// Every sample of the project but the broken ones.
inline std::vector<std::string> sample_paths() {
  std::vector<std::string> paths;
  const std::string folder = std::string(LATCHWORK_SOURCE_DIR) + "/samples";
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    const bool broken = entry.path().string().find("/broken/") != std::string::npos;
    if (entry.path().extension() == ".latch" && !broken) paths.push_back(entry.path().string());
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

}  // namespace syntax_test

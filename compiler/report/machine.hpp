// What `lint` found, for machines: a JSON object of our own, and SARIF 2.1.0. What `build` wrote and
// `rehearse` played, as JSON in the same style.
//
// Both say what the text says, in its order, and more: accepted findings with the reason, verdicts, totals.
// The same room gives the same bytes everywhere, so there is no clock, host or absolute path in them unless a
// path was given so. Texts are written as text.hpp shows them (text/utf8.hpp), so whatever bytes a room
// holds, what is written is UTF-8. Columns count code points from 1; an end is the first place past it. Fixes
// are never offered to machines: a remedy is a sentence for people. The JSON's schema is
// docs/lint.schema.json; those of the others, docs/build.schema.json and docs/rehearse.schema.json, refer to
// it. Tests: tests/reports.py, which validates them over all cases and samples.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "play/coverage.hpp"
#include "text/finding.hpp"
#include "text/measure.hpp"
#include "text/source.hpp"
#include "text/verdict.hpp"

namespace lw::report {

struct LintReport {
  const SourceSet& sources;
  std::string tool_version;
  std::optional<std::string> room;  // its title, when its names could be resolved
  Findings findings;                // arranged, with the accepted ones among them
  Verdicts verdicts;
  OpenQuestions open;                // beyond promises
  std::optional<Measures> measures;  // where they were asked for

  struct Totals {
    std::size_t props = 0;
    std::size_t states = 0;
    std::size_t rules = 0;
  };
  std::optional<Totals> totals;  // when tables could be made
  std::size_t rehearsals_played = 0;
  std::size_t rehearsals_failed = 0;
};

struct BuildReport {
  const SourceSet& sources;
  std::string tool_version;
  std::optional<std::string> room, identity;  // when there are tables
  Findings findings;                          // arranged, with the accepted ones among them
  Verdicts verdicts;
  OpenQuestions open;  // beyond promises

  struct File {
    std::string name;
    std::uint64_t bytes = 0;
    std::string sha256;
  };
  struct Folder {
    std::string controller, board, folder;
    std::uint64_t table_bytes = 0;
    std::vector<File> files;  // all in the folder, in the order of their names
  };
  std::optional<std::string> written_to;  // nothing: nothing was written
  std::vector<Folder> folders;            // in the order of the room
  std::optional<std::string> failure;     // why it could not be written, a clause
  std::vector<std::string> notes;
};

struct RehearsalReport {
  const SourceSet& sources;
  std::string tool_version;
  std::optional<std::string> room;
  Findings findings;  // arranged: why nothing could be played

  struct Played {
    std::string title;
    Span span;
    std::int64_t length_ms = 0;
    std::optional<Finding> failure;
    std::optional<std::vector<Event>> trace;  // when asked for
  };
  std::vector<Played> played;
  const Coverage* coverage = nullptr;  // when something was played
};

/// One JSON object, its last line ended.
std::string to_json(const LintReport& report);
std::string to_json(const BuildReport& report);
std::string to_json(const RehearsalReport& report);

/// One SARIF log of one run. Promises are results of kind `pass` or `open`; one that is refuted is a finding.
/// Braces and brackets in messages stand as they are, since viewers show a message without arguments as it
/// stands.
std::string to_sarif(const LintReport& report);

}  // namespace lw::report

// What `lint` found, for machines: a JSON object of our own, and SARIF 2.1.0.
//
// Both say what the text says, in its order, and more: accepted findings with the reason, verdicts, totals.
// The same room gives the same bytes everywhere, so there is no clock, host or absolute path in them unless a
// path was given so. Texts are written as text.hpp shows them (text/utf8.hpp), so whatever bytes a room
// holds, what is written is UTF-8. Columns count code points from 1; an end is the first place past it. Fixes
// are never offered to machines: a remedy is a sentence for people. The JSON's schema is
// docs/lint.schema.json. Tests: tests/reports.py, which validates both over all cases.
#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "text/finding.hpp"
#include "text/source.hpp"
#include "text/verdict.hpp"

namespace lw::report {

struct LintReport {
  const SourceSet& sources;
  std::string tool_version;
  std::optional<std::string> room;  // its title, when its names could be resolved
  Findings findings;                // arranged, with the accepted ones among them
  Verdicts verdicts;

  struct Totals {
    std::size_t props = 0;
    std::size_t states = 0;
    std::size_t rules = 0;
  };
  std::optional<Totals> totals;  // when tables could be made
  std::size_t rehearsals_played = 0;
  std::size_t rehearsals_failed = 0;
};

/// One JSON object, its last line ended.
std::string to_json(const LintReport& report);

/// One SARIF log of one run. Promises are results of kind `pass` or `open`; one that is refuted is a finding. Braces and brackets in messages stand as
/// they are, since viewers show a message without arguments as it stands.
std::string to_sarif(const LintReport& report);

}  // namespace lw::report
